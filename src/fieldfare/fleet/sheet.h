// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"

namespace fieldfare::fleet {

/// A span of values, both ends included, in the unit its name ends in.
struct Range {
  double low = 0;
  double high = 0;

  bool operator==(const Range&) const = default;
};

/// Transmit powers a radio can be set to (conducted, dBm), and what it is set
/// to as delivered.
struct TransmitPower {
  std::vector<double> allowed_dbm;
  double default_dbm = 0;
};

struct Retries {
  int min = 0;
  int max = 0;
  int as_delivered = 0;
};

struct Hopping {
  int channels = 0;
  Duration dwell;
};

enum class Access : std::uint8_t { aloha, csma };

/// What a sheet says about a radio. Everything is optional: a sheet is filled
/// in as far as its facts are known, and what is missing is left out of answers.
struct RadioFacts {
  std::optional<Range> band_mhz;
  std::optional<std::string> phy;
  std::optional<double> bitrate_bps;
  std::optional<double> bandwidth_hz;
  std::optional<int> preamble_bytes;
  std::optional<int> sync_bytes;
  std::optional<int> crc_bytes;
  std::optional<int> overhead_bytes;  ///< headers, security and message integrity code
  std::optional<TransmitPower> tx_dbm;
  std::optional<double> antenna_gain_dbi;
  std::optional<double> sensitivity_dbm;  ///< weakest signal that is still received
  std::optional<double> overload_dbm;     ///< strongest signal that is still received
  bool needs_antenna_to_transmit = true;  ///< may be harmed without; unknown counts as true
  std::optional<bool> acknowledged;
  std::optional<Retries> retries;
  std::optional<Access> access;
  std::optional<Hopping> hopping;
};

enum class ReportKind : std::uint8_t { periodic, on_change, heartbeat };

struct ReportingFacts {
  std::vector<ReportKind> kinds;
  std::optional<double> events_per_day;  ///< of reports on change, on a usual day
};

/// A clock is a share off its nominal rate: per cents for RC oscillators, parts
/// per million for crystals. Both are kept in ppm here.
struct ClockFacts {
  std::optional<double> tolerance_ppm;  ///< largest deviation of either sign
  std::optional<double> tick_s;         ///< steps in which the node counts its interval
};

struct SequenceFacts {
  std::optional<int> bits;                 ///< width of the counter, 1 to 32
  std::optional<std::uint64_t> starts_at;  ///< first number after a reset
  bool restarts_on_reset = true;           ///< false: the counter is kept through power cuts
};

struct CellsFitted {
  std::string type;  ///< name of a cell sheet
  int series = 1;
  int parallel = 1;
};

/// Marks a phase that lasts as long as the frame is on air.
struct AirTime {
  bool operator==(const AirTime&) const = default;
};

/// One stretch of a wake-up. Its current is one figure, or one for each
/// transmit power.
struct LoadPhase {
  std::string what;
  std::variant<double, std::vector<std::pair<double, double>>> ma;  ///< mA, or (dBm, mA) rising
  std::variant<double, AirTime> ms;
};

struct EnergyFacts {
  std::optional<CellsFitted> cells;
  std::optional<double> sleep_ua;
  std::optional<double> cutoff_v;        ///< supply at which the node stops
  std::optional<double> start_pulse_ma;  ///< what cold or passivated cells must give at once
  std::vector<LoadPhase> phases;         ///< one wake-up, in order
};

/// What is known of one reading, in the unit that its name ends in.
struct FieldFacts {
  std::string name;
  std::optional<Range> plausible;  ///< outside, the reading can't be believed
  std::optional<double> resolution;
  std::optional<double> accuracy;  ///< largest error of either sign
  std::optional<double> max_rate_per_min;
};

/// What every sheet says of itself.
struct SheetHead {
  std::string name;
  bool invented = false;
  std::string source;  ///< where its facts come from; empty where not said
};

/// The facts about one kind of node.
struct NodeSheet {
  SheetHead head;
  RadioFacts radio;
  ReportingFacts reporting;
  ClockFacts clock;
  SequenceFacts sequence;
  EnergyFacts energy;
  std::vector<FieldFacts> fields;
  std::optional<FrameFacts> frame;  ///< the bytes of a report
};

/// The facts about one kind of receiver.
struct ReceiverSheet {
  SheetHead head;
  RadioFacts radio;
  std::optional<FrameFacts>
      frame;  ///< what it hands on; reports are its payload, or the frame itself
};

/// One kind of cell, named by its IEC 60086 designation where it has one.
struct CellSheet {
  SheetHead head;
  std::string chemistry;
  std::optional<double> nominal_v;
  std::optional<double> diameter_mm;
  std::optional<double> height_mm;
};

}  // namespace fieldfare::fleet
