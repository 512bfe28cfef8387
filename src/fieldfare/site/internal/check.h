// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/site/internal/grammar.h"
#include "fieldfare/site/internal/tree.h"

namespace fieldfare::site {

/// What is wrong with a folder, so far. Past kMost complaints only their number
/// grows: nobody reads more, and hostile files cost no memory.
class Complaints {
 public:
  static constexpr std::size_t kMost = 100;

  /// From here on complaints are about `file`.
  void begin_file(std::string file) { file_ = std::move(file); }
  const std::string& file() const { return file_; }

  void error(Spot spot, std::string what, std::string expected);
  void error(Complaint complaint);
  void warning(Spot spot, std::string what, std::string expected);

  bool has_errors() const { return !errors_.empty(); }
  std::size_t count() const { return errors_.size() + dropped_errors_; }

  /// True once further errors are only counted: no use in looking for remedies.
  bool is_full() const { return errors_.size() >= kMost; }

  /// By file, line and column. What was dropped is one line at the end.
  std::vector<Complaint> take_errors() { return take(errors_, dropped_errors_); }
  std::vector<Complaint> take_warnings() { return take(warnings_, dropped_warnings_); }

 private:
  static std::vector<Complaint> take(std::vector<Complaint>& list, std::size_t dropped);

  std::string file_;
  std::vector<Complaint> errors_;
  std::vector<Complaint> warnings_;
  std::size_t dropped_errors_ = 0;
  std::size_t dropped_warnings_ = 0;
};

/// Complains of every key of `table` that `section` doesn't know, that is
/// missing, or whose value is not what the key takes; and so on in the tables
/// within. `spot` is where the table stands.
void check_section(const Table& table, const Section& section, Spot spot, Complaints& complaints);

/// "did you mean `x`?" where a known name is near, else "expected one of ..."
/// with the names there are, the first of them where there are many.
std::string nearest_or_known(std::string_view word, std::span<const std::string_view> known);

}  // namespace fieldfare::site
