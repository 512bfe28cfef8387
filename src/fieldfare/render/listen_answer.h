// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/hearing.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/render/words.h"
#include "fieldfare/wire/stream_ledger.h"

namespace fieldfare::render {

/// What one source handed over.
struct SourceAnswer {
  std::string receiver;
  std::string endpoint;
  wire::StreamLedger run;  ///< in this listening
  std::uint64_t run_repeated = 0;
  wire::StreamLedger total;  ///< in all listening so far
  std::uint64_t total_repeated = 0;
};

/// What a listening came to.
struct ListenAnswer {
  Instant from;
  Instant to;
  std::vector<SourceAnswer> sources;
  std::uint64_t stored = 0;
  std::uint64_t not_stored = 0;
  double median_ms = 0;  ///< from arrival to disk
  double p99_ms = 0;
  double longest_ms = 0;
};

/// Schema `fieldfare/listen/1`, docs/schema/listen.schema.json.
std::string listen_json(const ListenAnswer& answer);
std::string listen_text(const ListenAnswer& answer, const TextStyle& style);

/// A hearing as one line: when, who, through which receiver, counter, level, readings.
std::string hearing_line(const fleet::Hearing& hearing, const fleet::Labels& labels,
                         const TextStyle& style);

/// A serial port as `listen` shows it.
struct PortAnswer {
  std::string device;
  std::string stable_name;
  std::string description;
  std::string manufacturer;
  std::string serial_number;
  std::string usb_id;
  std::string driver;
  bool may_open = true;
  std::string busy_by;
  std::string likeliest;  ///< why a receiver is most likely there; empty: it isn't
};
/// Schema `fieldfare/ports/1`, docs/schema/ports.schema.json.
std::string ports_json(const std::vector<PortAnswer>& ports);
std::string ports_text(const std::vector<PortAnswer>& ports, const TextStyle& style);

}  // namespace fieldfare::render
