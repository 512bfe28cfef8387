// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/hearing_sink.h"
#include "fieldfare/wire/ledger.h"
#include "fieldfare/wire/log_format.h"

namespace fieldfare::wire {

struct LogOptions {
  std::string file_name;            ///< for the places of complaints
  std::optional<LogFormat> format;  ///< absent: by the first byte, `{` means JSON Lines
  std::string receiver = "r1";      ///< of rows that name none
};

/// Turns the bytes of one log into hearings: CSV or JSON Lines, as
/// docs/formats/log.md says. Never throws on account of the bytes, whatever they
/// are; rows that give no hearing go to the ledger, one by one.
///
///     LogParser parser{{"bench.csv", {}}, labels, ledger};
///     while (more()) parser.feed(bytes, sink);
///     parser.finish(sink);
///
/// Any split of the bytes into feeds gives the same hearings and the same ledger.
/// Memory is bounded: a row that is not yet whole (at most 64 KiB), up to 4096
/// columns, and what Labels and Ledger keep.
///
/// `labels` and `ledger` must outlive the parser. Not for use by two threads.
class LogParser {
 public:
  LogParser(LogOptions options, fleet::Labels& labels, Ledger& ledger);
  ~LogParser();
  LogParser(LogParser&&) noexcept;
  LogParser& operator=(LogParser&&) noexcept;
  LogParser(const LogParser&) = delete;
  LogParser& operator=(const LogParser&) = delete;

  /// Takes the next bytes; hearings go to `sink` as their rows become whole.
  void feed(std::string_view bytes, const HearingSink& sink);

  /// Says that no more will come: the last line counts even without its end.
  void finish(const HearingSink& sink);

  /// Bytes at the end of those fed that are no whole row yet.
  std::size_t pending() const;

  /// Why the log as a whole cannot be read. All bytes are ignored from then on.
  const std::optional<Complaint>& fatal() const;

  /// What changes no row but may not be what somebody meant, each told once:
  /// columns left out, names near a recognised one.
  const std::vector<Complaint>& notes() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::wire
