// SPDX-License-Identifier: Apache-2.0
#include "table.h"

#include <stdexcept>

#include "data.h"

namespace fieldfare::real {
namespace {

constexpr const char* kHeader =
    "set,file,node,hearings,heard,expected,missed,resets,strays,duplicates,further_hearings,"
    "longest_gap_s,interval_s";

}  // namespace

std::vector<KnownAnswer> known_answers(const std::filesystem::path& path) {
  const LogLines table = read_log(path);
  if (table.header != kHeader) throw std::runtime_error("other columns in " + path.string());
  std::vector<KnownAnswer> answers;
  for (const std::string& row : table.rows) {
    const auto field = fields_of(row);
    const auto count = [&](std::size_t column) {
      return std::int64_t{std::stoll(field.at(column))};
    };
    answers.push_back({.set = field.at(0),
                       .file = field.at(1),
                       .node = field.at(2),
                       .hearings = count(3),
                       .heard = count(4),
                       .expected = count(5),
                       .missed = count(6),
                       .resets = count(7),
                       .strays = count(8),
                       .duplicates = count(9),
                       .further_hearings = count(10),
                       .longest_gap_s = std::stod(field.at(11)),
                       .interval_s = std::stod(field.at(12))});
  }
  return answers;
}

}  // namespace fieldfare::real
