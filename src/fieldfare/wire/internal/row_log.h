// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/wire/internal/trouble.h"
#include "fieldfare/wire/ledger.h"

namespace fieldfare::wire {

/// Lines, and rows of several lines, are taken up to this many bytes, the line's
/// end not counted. It bounds what is kept while the end is not yet seen.
inline constexpr std::size_t kLongestRow = 65'536;

inline constexpr std::size_t kMostColumns = 4096;

/// Where and why a row gave no hearing.
struct Fault {
  Trouble trouble = Trouble::none;
  std::string_view row;     ///< its bytes, for the excerpt
  std::size_t offset = 0;   ///< of the place in `row`; kWholeRow where there is none
  std::string_view column;  ///< name, where one value is at fault
  std::string_view value;

  static constexpr std::size_t kWholeRow = static_cast<std::size_t>(-1);
};

/// What the reader of one log has to tell: rows to the ledger, notes once each,
/// and the complaint that ends the reading. Knows the current line.
class RowLog {
 public:
  RowLog(std::string file_name, std::string receiver, Ledger& ledger)
      : file_name_{std::move(file_name)}, receiver_{std::move(receiver)}, ledger_{ledger} {}

  /// The receiver of rows that name none.
  const std::string& receiver() const { return receiver_; }

  void next_lines(std::size_t count) { line_ += count; }

  void accept() { ledger_.accept(); }
  void skip(const Fault& fault);
  /// Tells something that changes no row. Bounded: after kMostNotes no more.
  void note(std::string what, std::string expected);
  /// Gives up the whole log.
  void give_up(std::size_t column, std::string what, std::string expected);

  const std::optional<Complaint>& fatal() const { return fatal_; }
  const std::vector<Complaint>& notes() const { return notes_; }

 private:
  static constexpr std::size_t kMostNotes = 100;

  SkippedRow describe(const Fault& fault) const;

  std::string file_name_;
  std::string receiver_;
  Ledger& ledger_;
  std::size_t line_ = 1;
  std::vector<Complaint> notes_;
  std::optional<Complaint> fatal_;
};

}  // namespace fieldfare::wire
