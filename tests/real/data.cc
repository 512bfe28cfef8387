// SPDX-License-Identifier: Apache-2.0
#include "data.h"

#include <unistd.h>
#include <zlib.h>

#include <array>
#include <cstdlib>
#include <fstream>
#include <memory>
#include <sstream>
#include <stdexcept>

namespace fieldfare::real {
namespace {

namespace fs = std::filesystem;

std::string contents(const fs::path& path) {
  // gzread gives plain files as they are.
  const std::unique_ptr<gzFile_s, int (*)(gzFile)> file{gzopen(path.c_str(), "rb"), gzclose};
  if (!file) throw std::runtime_error("cannot be opened: " + path.string());
  std::string text;
  std::array<char, 1 << 16> piece{};
  int got = 0;
  while ((got = gzread(file.get(), piece.data(), piece.size())) > 0) {
    text.append(piece.data(), static_cast<std::size_t>(got));
  }
  if (got < 0) throw std::runtime_error("broken off: " + path.string());
  return text;
}

}  // namespace

std::optional<fs::path> data_folder() {
  const char* named = std::getenv("FIELDFARE_DATA");
  const fs::path folder = named != nullptr
                              ? fs::path{named}
                              : fs::path{FIELDFARE_SOURCE_DIR} / ".." / "shared" / "data";
  if (!fs::is_directory(folder)) return std::nullopt;
  return folder.lexically_normal();
}

fs::path log_path(const std::string& set, const std::string& file) {
  return data_folder().value() / set / "as-log" / file;
}

LogLines read_log(const fs::path& path) {
  std::istringstream text{contents(path)};
  LogLines log;
  std::getline(text, log.header);
  for (std::string row; std::getline(text, row);) log.rows.push_back(row);
  return log;
}

std::vector<std::string> fields_of(const std::string& row) {
  std::vector<std::string> fields;
  std::size_t begin = 0;
  for (std::size_t comma = row.find(','); comma != std::string::npos;
       comma = row.find(',', begin)) {
    fields.push_back(row.substr(begin, comma - begin));
    begin = comma + 1;
  }
  fields.push_back(row.substr(begin));
  return fields;
}

Scratch::Scratch() {
  std::string name = (fs::temp_directory_path() / "fieldfare-real-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no folder can be made: " + name);
  folder_ = name;
}

Scratch::~Scratch() {
  std::error_code ignored;  // a folder left behind fails no test
  fs::remove_all(folder_, ignored);
}

fs::path Scratch::write(const std::string& name, const LogLines& log) const {
  fs::path path = folder_ / name;
  std::ofstream file{path, std::ios::binary};
  file << log.header << '\n';
  for (const std::string& row : log.rows) file << row << '\n';
  if (!file.flush()) throw std::runtime_error("cannot be written: " + path.string());
  return path;
}

void RealLogs::SetUp() {
  if (!data_folder()) {
    GTEST_SKIP() << "the open data sets are not here: FIELDFARE_DATA names no folder, and there "
                    "is no shared/data beside the repository";
  }
}

}  // namespace fieldfare::real
