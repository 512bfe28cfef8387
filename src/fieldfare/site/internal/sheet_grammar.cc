// SPDX-License-Identifier: Apache-2.0
// The keys of sheets. Ranges are those of sense, wide on purpose: they catch a
// slipped sign, a slipped unit or a slipped point, not an unusual part.
#include "fieldfare/site/internal/grammar.h"

namespace fieldfare::site {
namespace {

constexpr std::string_view kPhys[] = {"fsk",     "gfsk",    "oqpsk-250", "oqpsk-100",
                                      "bpsk-20", "bpsk-40", "css"};
constexpr std::string_view kAccess[] = {"aloha", "csma"};
constexpr std::string_view kReportKinds[] = {"periodic", "on change", "heartbeat"};
constexpr std::string_view kAirTime[] = {"air-time"};
constexpr std::string_view kNode[] = {"node"};
constexpr std::string_view kReceiver[] = {"receiver"};
constexpr std::string_view kCell[] = {"cell"};

constexpr Key sheet_name(std::string_view meaning) {
  return {.name = "name", .form = Form::name, .meaning = meaning, .required = true};
}

constexpr Key sheet_kind(std::span<const std::string_view> words) {
  return {.name = "kind",
          .form = Form::choice,
          .meaning = "what the sheet is about",
          .required = true,
          .words = words};
}

constexpr Key kInvented = {
    .name = "invented",
    .form = Form::flag,
    .meaning = "its facts are made up, as those of an example; false where absent"};
constexpr Key kSource = {.name = "source",
                         .form = Form::text,
                         .meaning = "where its facts come from: a document, a measurement"};

constexpr Key kTxPowerKeys[] = {
    {.name = "allowed",
     .form = Form::numbers,
     .meaning = "powers it can be set to",
     .unit = "dBm",
     .least = -60,
     .most = 40,
     .required = true},
    {.name = "default",
     .form = Form::number,
     .meaning = "power as delivered; one of `allowed`",
     .unit = "dBm",
     .least = -60,
     .most = 40,
     .required = true},
};
constexpr Section kTxPower = {"tx_dbm", kTxPowerKeys};

constexpr Key kRetryKeys[] = {
    {.name = "min",
     .form = Form::whole,
     .meaning = "fewest it can be set to",
     .least = 0,
     .most = 255,
     .required = true},
    {.name = "max",
     .form = Form::whole,
     .meaning = "most it can be set to",
     .least = 0,
     .most = 255,
     .required = true},
    {.name = "default",
     .form = Form::whole,
     .meaning = "as delivered; from `min` to `max`",
     .least = 0,
     .most = 255,
     .required = true},
};
constexpr Section kRetries = {"retries", kRetryKeys};

constexpr Key kHoppingKeys[] = {
    {.name = "channels",
     .form = Form::whole,
     .meaning = "channels it hops over",
     .least = 2,
     .most = 1024,
     .required = true},
    {.name = "dwell",
     .form = Form::duration,
     .meaning = "longest stay on one channel",
     .least = 0.001,
     .most = 60,
     .required = true},
};
constexpr Section kHopping = {"hopping", kHoppingKeys};

constexpr Key kBand = {.name = "band_mhz",
                       .form = Form::range,
                       .meaning = "frequencies it works in",
                       .unit = "MHz",
                       .least = 1,
                       .most = 100000};
constexpr Key kPhy = {.name = "phy",
                      .form = Form::choice,
                      .meaning =
                          "modulation; oqpsk-… and bpsk-… as in IEEE 802.15.4, css is "
                          "chirp spread spectrum",
                      .words = kPhys};
constexpr Key kBitrate = {.name = "bitrate_bps",
                          .form = Form::number,
                          .meaning = "bit rate on air",
                          .unit = "bit/s",
                          .least = 1,
                          .most = 1e9};
constexpr Key kBandwidth = {.name = "bandwidth_hz",
                            .form = Form::number,
                            .meaning = "noise bandwidth of the receiver",
                            .unit = "Hz",
                            .least = 1,
                            .most = 1e9};
constexpr Key kAntennaGain = {.name = "antenna_gain_dbi",
                              .form = Form::number,
                              .meaning = "gain of the antenna it is delivered with",
                              .unit = "dBi",
                              .least = -30,
                              .most = 30};
constexpr Key kSensitivity = {.name = "sensitivity_dbm",
                              .form = Form::number,
                              .meaning = "weakest signal that it still receives",
                              .unit = "dBm",
                              .least = -170,
                              .most = -20};
constexpr Key kOverload = {.name = "overload_dbm",
                           .form = Form::number,
                           .meaning = "strongest signal that it still receives",
                           .unit = "dBm",
                           .least = -60,
                           .most = 30};

constexpr Key kNodeRadioKeys[] = {
    kBand,
    kPhy,
    kBitrate,
    kBandwidth,
    {.name = "preamble_bytes",
     .form = Form::whole,
     .meaning = "preamble of a frame",
     .unit = "bytes",
     .least = 0,
     .most = 4096},
    {.name = "sync_bytes",
     .form = Form::whole,
     .meaning = "synchronisation word of a frame",
     .unit = "bytes",
     .least = 0,
     .most = 64},
    {.name = "crc_bytes",
     .form = Form::whole,
     .meaning = "checksum of a frame",
     .unit = "bytes",
     .least = 0,
     .most = 8},
    {.name = "overhead_bytes",
     .form = Form::whole,
     .meaning = "headers, security and message integrity code of a frame",
     .unit = "bytes",
     .least = 0,
     .most = 255},
    {.name = "tx_dbm",
     .form = Form::table,
     .meaning = "conducted transmit power",
     .section = &kTxPower},
    kAntennaGain,
    kSensitivity,
    kOverload,
    {.name = "needs_antenna_to_transmit",
     .form = Form::flag,
     .meaning = "may be harmed when it transmits without an antenna; true where absent"},
    {.name = "acknowledged",
     .form = Form::flag,
     .meaning = "the receiver acknowledges every report"},
    {.name = "retries",
     .form = Form::table,
     .meaning = "repetitions of a report that was not acknowledged",
     .section = &kRetries},
    {.name = "access",
     .form = Form::choice,
     .meaning = "how it takes the channel: aloha sends at once, csma listens first",
     .words = kAccess},
    {.name = "hopping",
     .form = Form::table,
     .meaning = "frequency hopping, where it hops",
     .section = &kHopping},
};
constexpr Section kNodeRadio = {"[radio]", kNodeRadioKeys};

constexpr Key kReceiverRadioKeys[] = {kBand,        kPhy,         kBitrate, kBandwidth,
                                      kAntennaGain, kSensitivity, kOverload};
constexpr Section kReceiverRadio = {"[radio]", kReceiverRadioKeys};

constexpr Key kReportingKeys[] = {
    {.name = "kinds", .form = Form::choices, .meaning = "why it reports", .words = kReportKinds},
    {.name = "events_per_day",
     .form = Form::number,
     .meaning = "reports on change that a usual day brings",
     .least = 0,
     .most = 1e6},
};
constexpr Section kReporting = {"[reporting]", kReportingKeys};

constexpr Key kCellsFittedKeys[] = {
    {.name = "type",
     .form = Form::name,
     .meaning = "name of a cell sheet, an IEC 60086 designation for those built in",
     .required = true},
    {.name = "series",
     .form = Form::whole,
     .meaning = "cells one behind the other; 1 where absent",
     .least = 1,
     .most = 16},
    {.name = "parallel",
     .form = Form::whole,
     .meaning = "such rows side by side; 1 where absent",
     .least = 1,
     .most = 16},
};
constexpr Section kCellsFitted = {"cells", kCellsFittedKeys};

constexpr Key kPhaseKeys[] = {
    {.name = "what",
     .form = Form::text,
     .meaning = "what the node does meanwhile",
     .required = true},
    {.name = "ma",
     .form = Form::number,
     .meaning = "current; this or `ma_at_dbm`",
     .unit = "mA",
     .least = 0,
     .most = 10000},
    {.name = "ma_at_dbm",
     .form = Form::number_map,
     .meaning = "current for each transmit power in dBm",
     .unit = "mA",
     .least = 0,
     .most = 10000},
    {.name = "ms",
     .form = Form::number_or_word,
     .meaning = "how long; `air-time` for as long as the frame is on air",
     .unit = "ms",
     .least = 0,
     .most = 3.6e6,
     .required = true,
     .words = kAirTime},
};
constexpr Section kPhase = {"[[energy.phase]]", kPhaseKeys};

constexpr Key kEnergyKeys[] = {
    {.name = "cells",
     .form = Form::table,
     .meaning = "the cells it runs on",
     .section = &kCellsFitted},
    {.name = "sleep_ua",
     .form = Form::number,
     .meaning = "current between wake-ups",
     .unit = "µA",
     .least = 0,
     .most = 1e6},
    {.name = "cutoff_v",
     .form = Form::number,
     .meaning = "supply at which it stops",
     .unit = "V",
     .least = 0,
     .most = 60},
    {.name = "start_pulse_ma",
     .form = Form::number,
     .meaning = "what the cells must give at once, cold or passivated",
     .unit = "mA",
     .least = 0,
     .most = 10000},
    {.name = "phase",
     .form = Form::tables,
     .meaning = "one wake-up, phase by phase in order",
     .section = &kPhase},
};
constexpr Section kEnergy = {"[energy]", kEnergyKeys};

constexpr Key kClockKeys[] = {
    {.name = "tolerance_pct",
     .form = Form::number,
     .meaning = "largest deviation of either sign, of an RC oscillator; this or `tolerance_ppm`",
     .unit = "%",
     .least = 0,
     .most = 50},
    {.name = "tolerance_ppm",
     .form = Form::number,
     .meaning = "largest deviation of either sign, of a crystal",
     .unit = "ppm",
     .least = 0,
     .most = 10000},
    {.name = "tick_s",
     .form = Form::number,
     .meaning = "steps in which it counts its interval",
     .unit = "s",
     .least = 1e-6,
     .most = 3600},
};
constexpr Section kClock = {"[clock]", kClockKeys};

constexpr Key kSequenceKeys[] = {
    {.name = "bits",
     .form = Form::whole,
     .meaning = "width of the counter in its reports",
     .unit = "bits",
     .least = 1,
     .most = 32},
    {.name = "starts_at",
     .form = Form::whole,
     .meaning = "first number after a reset",
     .least = 0,
     .most = 4294967295},
    {.name = "restarts_on_reset",
     .form = Form::flag,
     .meaning = "false where the counter is kept through power cuts; true where absent"},
};
constexpr Section kSequence = {"[sequence]", kSequenceKeys};

constexpr Key kFieldKeys[] = {kPlausible, kResolution, kAccuracy, kMaxRate};
constexpr Section kField = {"[field.NAME]", kFieldKeys};

constexpr Key kFields = {.name = "field",
                         .form = Form::named_tables,
                         .meaning =
                             "what is known of a reading; the name ends in its unit, as in "
                             "logs: `temperature_c`",
                         .section = &kField};

constexpr Key kNodeHeadKeys[] = {sheet_name("what sites call this kind of node"), sheet_kind(kNode),
                                 kInvented, kSource};
constexpr Section kNodeHead = {"[sheet]", kNodeHeadKeys};
constexpr Key kReceiverHeadKeys[] = {sheet_name("what sites call this kind of receiver"),
                                     sheet_kind(kReceiver), kInvented, kSource};
constexpr Section kReceiverHead = {"[sheet]", kReceiverHeadKeys};
constexpr Key kCellHeadKeys[] = {sheet_name("what node sheets call this kind of cell"),
                                 sheet_kind(kCell), kInvented, kSource};
constexpr Section kCellHead = {"[sheet]", kCellHeadKeys};

constexpr Key head(const Section& section) {
  return {.name = "sheet",
          .form = Form::table,
          .meaning = "what the sheet is about",
          .required = true,
          .section = &section};
}

constexpr Key kNodeSheetKeys[] = {
    head(kNodeHead),
    {.name = "radio", .form = Form::table, .meaning = "its radio", .section = &kNodeRadio},
    {.name = "reporting",
     .form = Form::table,
     .meaning = "when it reports",
     .section = &kReporting},
    {.name = "energy",
     .form = Form::table,
     .meaning = "what it draws from its cells",
     .section = &kEnergy},
    {.name = "clock", .form = Form::table, .meaning = "how well it keeps time", .section = &kClock},
    {.name = "sequence",
     .form = Form::table,
     .meaning = "the counter in its reports",
     .section = &kSequence},
    kFields,
    {.name = "frame", .form = Form::table, .meaning = "the bytes of a report", .section = &kFrame},
    later("settings", "what a card may set"),
};

constexpr Key kReceiverSheetKeys[] = {
    head(kReceiverHead),
    {.name = "radio", .form = Form::table, .meaning = "its radio", .section = &kReceiverRadio},
    {.name = "frame", .form = Form::table, .meaning = "the bytes it hands on", .section = &kFrame},
};

constexpr Key kCellFactKeys[] = {
    {.name = "chemistry",
     .form = Form::text,
     .meaning = "electrochemical system in words",
     .required = true},
    {.name = "nominal_v",
     .form = Form::number,
     .meaning = "nominal voltage",
     .unit = "V",
     .least = 0.1,
     .most = 60},
    {.name = "diameter_mm",
     .form = Form::number,
     .meaning = "largest diameter, of a round cell",
     .unit = "mm",
     .least = 1,
     .most = 500},
    {.name = "height_mm",
     .form = Form::number,
     .meaning = "largest height",
     .unit = "mm",
     .least = 0.5,
     .most = 1000},
};
constexpr Section kCellFacts = {"[cell]", kCellFactKeys};

constexpr Key kCellSheetKeys[] = {
    head(kCellHead),
    {.name = "cell",
     .form = Form::table,
     .meaning = "its facts",
     .required = true,
     .section = &kCellFacts},
};

}  // namespace

constinit const Section kNodeSheetFile = {"a node sheet", kNodeSheetKeys};
constinit const Section kReceiverSheetFile = {"a receiver sheet", kReceiverSheetKeys};
constinit const Section kCellSheetFile = {"a cell sheet", kCellSheetKeys};

}  // namespace fieldfare::site
