// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace fieldfare::real {

/// Where the open data sets lie: the folder that the environment variable
/// FIELDFARE_DATA names, else shared/data beside the repository.
std::optional<std::filesystem::path> data_folder();

/// The log `set: file`, such as "jsi-unb-868", "2016-09_norep.csv.gz".
/// Only where there is a data_folder().
std::filesystem::path log_path(const std::string& set, const std::string& file);

/// A log as lines.
struct LogLines {
  std::string header;
  std::vector<std::string> rows;  ///< without line ends
};

/// Reads plain and gzip files alike, with zlib and nothing of the program.
/// Throws std::runtime_error where the file cannot be read.
LogLines read_log(const std::filesystem::path& path);

/// The fields of a row that quotes nothing, as none of these logs does.
std::vector<std::string> fields_of(const std::string& row);

/// A folder for logs that a test makes; it goes with its owner.
class Scratch {
 public:
  Scratch();
  ~Scratch();
  Scratch(const Scratch&) = delete;
  Scratch& operator=(const Scratch&) = delete;

  std::filesystem::path write(const std::string& name, const LogLines& log) const;

 private:
  std::filesystem::path folder_;
};

/// Tests of the data sets: skipped, saying so, where they are absent.
class RealLogs : public testing::Test {
 protected:
  void SetUp() override;

  std::filesystem::path write(const std::string& name, const LogLines& log) const {
    return scratch_.write(name, log);
  }

 private:
  Scratch scratch_;
};

}  // namespace fieldfare::real
