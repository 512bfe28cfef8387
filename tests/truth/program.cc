// SPDX-License-Identifier: Apache-2.0
#include "program.h"

#include <cstdlib>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <stdexcept>
#include <string>

#include "log_text.h"

namespace fieldfare::truth {
namespace {

using nlohmann::json;

std::int64_t instant_of(const json& text) {
  const auto time_ns = read_time(text.get<std::string>());
  if (!time_ns) throw std::runtime_error("not a time in UTC: " + text.dump());
  return *time_ns;
}

JudgedKind kind_of(const std::string& kind) {
  if (kind == "reset") return JudgedKind::reset;
  if (kind == "jump") return JudgedKind::jump;
  if (kind == "stood_still") return JudgedKind::stood_still;
  throw std::runtime_error("unknown kind of reset: " + kind);
}

void read_sequence(const json& sequence, Judged& judged) {
  judged.expected = sequence.value("expected", std::uint64_t{0});
  judged.missed = sequence.value("missed", std::uint64_t{0});
  judged.strays = sequence.value("strays", std::uint64_t{0});
  for (const json& reset : sequence.value("resets", json::array())) {
    judged.restarts.push_back({instant_of(reset.at("at")), kind_of(reset.at("kind"))});
  }
}

void read_cadence(const json& cadence, Judged& judged) {
  if (cadence.contains("low")) {
    judged.interval_s = Estimated{cadence.at("interval_s"), cadence.at("low"), cadence.at("high")};
  }
  if (cadence.contains("jitter_s")) judged.jitter_s = cadence.at("jitter_s").get<double>();
  for (const json& change : cadence.value("changes", json::array())) {
    judged.changes.push_back({instant_of(change.at("at")), change.at("from_s"), change.at("to_s")});
  }
}

Judged read_node(const json& node) {
  Judged judged;
  const json& heard = node.at("heard");
  judged.reports = heard.at("reports");
  judged.hearings = heard.at("hearings");
  judged.duplicates = heard.at("duplicates");
  if (node.contains("sequence")) read_sequence(node.at("sequence"), judged);
  if (node.contains("cadence")) read_cadence(node.at("cadence"), judged);
  if (node.contains("delivery") && node.at("delivery").contains("low")) {
    const json& delivery = node.at("delivery");
    judged.delivery = Estimated{delivery.at("ratio"), delivery.at("low"), delivery.at("high")};
  }
  return judged;
}

/// For the shell; the paths hold no quotes of their own.
std::string quoted(const std::filesystem::path& path) {
  std::string text{"'"};
  text += path.string();
  text += '\'';
  return text;
}

std::string contents(const std::filesystem::path& path) {
  std::ifstream file{path, std::ios::binary};
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

}  // namespace

std::vector<Judged> read_answer(std::string_view text, std::size_t count) {
  const json answer = json::parse(text);
  std::vector<Judged> judged(count);
  for (const json& node : answer.at("nodes")) {
    const std::string address = node.at("address");
    const auto number = std::stoull(address, nullptr, 16) & 0xffffffff;
    if (number >= count || address != node_address(static_cast<std::uint32_t>(number))) {
      throw std::runtime_error("a node that sent nothing: " + address);
    }
    judged[number] = read_node(node);
  }
  return judged;
}

std::vector<Judged> judge_by_program(const std::filesystem::path& program,
                                     const std::filesystem::path& folder,
                                     const std::vector<Log>& logs, const Facts& facts) {
  const auto log = folder / "log.csv";
  const auto answer = folder / "answer.json";
  std::ofstream{log, std::ios::binary} << csv_text(interleave(logs));
  std::ostringstream command;
  command << quoted(program) << " judge --log " << quoted(log) << " --seq-bits "
          << facts.counter_bits;
  if (facts.interval_s) command << " --interval \"" << *facts.interval_s << " s\"";
  command << " --json >" << quoted(answer);
  if (std::system(command.str().c_str()) != 0) {
    throw std::runtime_error("failed: " + command.str());
  }
  return read_answer(contents(answer), logs.size());
}

}  // namespace fieldfare::truth
