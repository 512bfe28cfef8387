// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/ledger.h"
#include "fieldfare/wire/log_parser.h"

namespace fieldfare::wire::test {

/// A hearing with its names, free of what it was read from.
struct Heard {
  std::string time;
  std::optional<std::string> arrived_at;
  std::string node;
  std::string receiver;
  std::optional<std::uint64_t> sequence;
  std::optional<double> rssi_dbm, snr_db, lqi, noise_dbm, supply_v;
  std::vector<std::pair<std::string, double>> readings;
  bool implausible = false;

  bool operator==(const Heard&) const = default;
};

inline Heard with_names(const fleet::Hearing& hearing, const fleet::Labels& labels) {
  Heard heard;
  heard.time = to_rfc3339(hearing.time);
  if (hearing.arrived_at) heard.arrived_at = to_rfc3339(*hearing.arrived_at);
  heard.node = labels.label(hearing.node).name;
  heard.receiver = labels.receiver_name(hearing.receiver);
  heard.sequence = hearing.sequence;
  heard.rssi_dbm = hearing.rssi_dbm;
  heard.snr_db = hearing.snr_db;
  heard.lqi = hearing.lqi;
  heard.noise_dbm = hearing.noise_dbm;
  heard.supply_v = hearing.supply_v;
  for (const fleet::Reading& reading : hearing.readings) {
    heard.readings.emplace_back(labels.field_name(reading.field), reading.value);
  }
  heard.implausible = hearing.implausible;
  return heard;
}

/// All that reading a log gives.
struct Outcome {
  std::vector<Heard> heard;
  Ledger ledger;
  std::optional<std::string> fatal;
  std::vector<std::string> notes;
  std::size_t nodes_known = 0;

  /// Lines of the skipped rows, and their reasons, as `3 bad-time`.
  std::vector<std::string> skipped() const {
    std::vector<std::string> rows;
    for (const SkippedRow& row : ledger.quoted()) {
      rows.push_back(std::to_string(row.place.line) + ' ' + row.reason_code);
    }
    return rows;
  }
};

/// Reads a log fed in pieces that end at `cuts` (ascending offsets).
inline Outcome read_in_pieces(std::string_view log, const std::vector<std::size_t>& cuts) {
  Outcome outcome;
  fleet::Labels labels;
  LogParser parser{{"test.log", {}}, labels, outcome.ledger};
  const HearingSink sink = [&](const fleet::Hearing& hearing) {
    outcome.heard.push_back(with_names(hearing, labels));
  };
  std::size_t from = 0;
  for (const std::size_t cut : cuts) {
    // A copy of its own size, so that a sanitizer sees any reading past its end.
    const std::vector<char> piece(log.begin() + static_cast<std::ptrdiff_t>(from),
                                  log.begin() + static_cast<std::ptrdiff_t>(cut));
    parser.feed({piece.data(), piece.size()}, sink);
    from = cut;
  }
  parser.feed(log.substr(from), sink);
  parser.finish(sink);
  if (parser.fatal()) outcome.fatal = parser.fatal()->text();
  for (const Complaint& note : parser.notes()) outcome.notes.push_back(note.text());
  outcome.nodes_known = labels.node_count();
  return outcome;
}

inline Outcome read(std::string_view log) { return read_in_pieces(log, {}); }

}  // namespace fieldfare::wire::test
