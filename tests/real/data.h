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

/// Tests that write logs of their own; the folder goes with the test.
class WithScratch : public testing::Test {
 protected:
  WithScratch();
  ~WithScratch() override;

  std::filesystem::path write(const std::string& name, const LogLines& log) const;

 private:
  std::filesystem::path scratch_;
};

/// Tests of the data sets: skipped, saying so, where they are absent.
class RealLogs : public WithScratch {
 protected:
  void SetUp() override;
};

}  // namespace fieldfare::real
