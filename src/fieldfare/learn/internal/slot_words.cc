// SPDX-License-Identifier: Apache-2.0
// The vocabulary is common practice: what logs, exports and firmware call things.
#include "fieldfare/learn/internal/slot_words.h"

#include <algorithm>
#include <array>
#include <span>

#include "fieldfare/base/nearest.h"

namespace fieldfare::learn {
namespace {

using Words = std::span<const std::string_view>;

constexpr auto kNode = std::to_array<std::string_view>(
    {"node",     "nodes",    "nodeid",  "mote", "moteid", "device", "dev",
     "deviceid", "devid",    "deveui",  "eui",  "mac",    "addr",   "address",
     "sensor",   "sensorid", "station", "unit", "uid",    "serial", "sn",
     "sender",   "src",      "source",  "id",   "name",   "tag",    "probe"});
/// What has a number or name, too, and is no node.
constexpr auto kOthers = std::to_array<std::string_view>(
    {"application", "app", "tenant", "profile", "model", "type", "firmware", "version", "gateway",
     "gw", "receiver", "join", "message", "msg", "packet", "entry"});
constexpr auto kCounter = std::to_array<std::string_view>(
    {"seq",    "sequence", "seqno", "seqnr",   "counter", "count", "cnt",    "cntr", "fcnt",
     "fcntup", "ctr",      "msg",   "message", "packet",  "pkt",   "frame",  "nr",   "no",
     "num",    "number",   "index", "idx",     "entry",   "id",    "reading"});
constexpr auto kTime = std::to_array<std::string_view>(
    {"time", "timestamp", "ts", "date", "datetime", "utc", "unix", "epoch", "clock"});
constexpr auto kReceiver = std::to_array<std::string_view>(
    {"gateway", "gw", "receiver", "gatewayid", "gwid", "anchor", "hub"});
constexpr auto kRssi = std::to_array<std::string_view>({"rssi", "signal", "rss"});
constexpr auto kSnr = std::to_array<std::string_view>({"snr", "lsnr", "sinr"});
constexpr auto kSupply = std::to_array<std::string_view>(
    {"battery", "batt", "bat", "vbat", "vbatt", "supply", "vcc", "vdd", "vsupply"});
constexpr auto kPayload = std::to_array<std::string_view>({"payload", "data", "raw", "bytes"});
constexpr auto kNetwork = std::to_array<std::string_view>({"pan", "panid", "network", "netid"});
/// Words that stand behind a name without being what it is about.
constexpr auto kTrailing =
    std::to_array<std::string_view>({"hex", "raw", "value", "val", "unix", "utc", "id"});

struct Quantity {
  std::string_view word;
  std::string_view name;
  std::string_view unit;  ///< what it is nearly always given in; empty where none
};
constexpr auto kQuantities = std::to_array<Quantity>({
    {"temperature", "temperature", "c"},
    {"temp", "temperature", "c"},
    {"tmp", "temperature", "c"},
    {"t", "temperature", "c"},
    {"celsius", "temperature", "c"},
    {"humidity", "humidity", "pct"},
    {"hum", "humidity", "pct"},
    {"rh", "humidity", "pct"},
    {"h", "humidity", "pct"},
    {"pressure", "pressure", ""},
    {"press", "pressure", ""},
    {"baro", "pressure", ""},
    {"bp", "pressure", ""},
    {"light", "light", ""},
    {"lux", "light", "lux"},
    {"illuminance", "light", "lux"},
    {"co2", "co2", "ppm"},
    {"voltage", "voltage", ""},
    {"distance", "distance", ""},
    {"current", "current", ""},
    {"frequency", "frequency", ""},
});

struct UnitWord {
  std::string_view word;  ///< as it is written
  std::string_view unit;
};
constexpr auto kUnitWords = std::to_array<UnitWord>(
    {{"C", "c"},       {"\u00b0C", "c"}, {"degC", "c"},      {"Cel", "c"},   {"celsius", "c"},
     {"\u00b0F", "f"}, {"F", "f"},       {"K", "k"},         {"%", "pct"},   {"%rh", "pct"},
     {"%RH", "pct"},   {"pct", "pct"},   {"percent", "pct"}, {"V", "v"},     {"v", "v"},
     {"volt", "v"},    {"volts", "v"},   {"mV", "mv"},       {"mv", "mv"},   {"dBm", "dbm"},
     {"dbm", "dbm"},   {"dB", "db"},     {"db", "db"},       {"hPa", "hpa"}, {"hpa", "hpa"},
     {"mbar", "mbar"}, {"kPa", "kpa"},   {"Pa", "pa"},       {"ms", "ms"},   {"s", "s"},
     {"sec", "s"},     {"min", "min"},   {"lx", "lux"},      {"lux", "lux"}, {"ppm", "ppm"},
     {"ppb", "ppb"},   {"mA", "ma"},     {"ma", "ma"},       {"uA", "ua"},   {"ua", "ua"},
     {"A", "a"},       {"W", "w"},       {"mW", "mw"},       {"Hz", "hz"},   {"hz", "hz"},
     {"kHz", "khz"},   {"khz", "khz"},   {"MHz", "mhz"},     {"mhz", "mhz"}, {"m", "m"},
     {"mm", "mm"},     {"cm", "cm"},     {"km", "km"},       {"g", "g"},     {"kg", "kg"},
     {"deg", "deg"},   {"c", "c"}});

bool is_one_of(Words words, std::string_view word) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

bool is_upper(char c) { return c >= 'A' && c <= 'Z'; }
bool is_lower(char c) { return c >= 'a' && c <= 'z'; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Pieces of a name as they are written. Octets beyond ASCII and % count as letters.
std::vector<std::string> pieces_of(std::string_view key) {
  std::vector<std::string> pieces;
  std::string piece;
  const auto end_piece = [&] {
    if (!piece.empty()) pieces.push_back(std::move(piece));
    piece.clear();
  };
  for (const char c : key) {
    const bool is_letter =
        is_upper(c) || is_lower(c) || c == '%' || static_cast<unsigned char>(c) >= 0x80;
    if (!is_letter && !is_digit(c)) {
      end_piece();
      continue;
    }
    if (is_upper(c) && piece.size() > 2 && is_lower(piece.back())) end_piece();
    piece += c;
  }
  end_piece();
  return pieces;
}

std::string lower_case(std::string_view text) {
  std::string lower{text};
  for (char& c : lower) {
    if (is_upper(c)) c = static_cast<char>(c - 'A' + 'a');
  }
  return lower;
}

std::string_view unit_for(std::string_view word) {
  for (const UnitWord& each : kUnitWords) {
    if (each.word == word) return each.unit;
  }
  return {};
}

const Quantity* quantity_for(std::string_view word) {
  for (const Quantity& each : kQuantities) {
    if (each.word == word) return &each;
  }
  // Long words are known by their look, too: people misspell what they type once.
  constexpr std::size_t kLong = 7;
  if (word.size() < kLong) return nullptr;
  for (const Quantity& each : kQuantities) {
    if (each.word.size() >= kLong && edit_distance(word, each.word) <= 2) return &each;
  }
  return nullptr;
}

/// The unit that the last word of a key is, if it is one; then it is taken away.
std::string take_unit(std::vector<std::string>& pieces, std::string_view key) {
  if (pieces.empty()) return {};
  const std::string last = pieces.back();
  const std::string_view unit = unit_for(last);
  if (unit.empty() || pieces.size() == 1) return {};
  // A small letter alone is a unit only as names of columns end in it: `temperature_c`.
  if (last.size() == 1 && is_lower(last[0]) && !key.ends_with("_" + last) && last != "v") return {};
  pieces.pop_back();
  return std::string{unit};
}

/// A name as logs have them, of lower-case letters, digits and `_`.
std::string reading_words(const std::vector<std::string>& words) {
  std::string name;
  for (const std::string& word : words) {
    std::string clean;
    for (const char c : word) {
      if (is_lower(c) || is_digit(c)) clean += c;
    }
    if (!clean.empty()) name += (name.empty() ? "" : "_") + clean;
  }
  if (!name.empty() && is_digit(name.front())) name = "n_" + name;
  constexpr std::size_t kLongest = 60;
  return name.substr(0, kLongest);
}

}  // namespace

std::vector<std::string> words_of(std::string_view key) {
  std::vector<std::string> words = pieces_of(key);
  for (std::string& word : words) word = lower_case(word);
  return words;
}

KeySense sense_of(std::string_view key, std::string_view unit) {
  KeySense sense;
  std::vector<std::string> pieces = pieces_of(key);
  sense.unit = std::string{unit_for(unit)};
  const std::string in_key = take_unit(pieces, key);
  if (sense.unit.empty()) sense.unit = in_key;
  std::vector<std::string> words;
  words.reserve(pieces.size());
  for (const std::string& piece : pieces) words.push_back(lower_case(piece));
  // `Node Status` is about a status: the last word says what it is.
  std::size_t head = words.size();
  while (head > 1 && is_one_of(kTrailing, words[head - 1])) --head;
  const std::string last = head == 0 ? std::string{} : words[head - 1];
  const std::string very_last = words.empty() ? std::string{} : words.back();
  const auto any = [&](Words known) {
    return std::any_of(words.begin(), words.end(),
                       [&](const std::string& w) { return is_one_of(known, w); });
  };
  const bool is_duration = !sense.unit.empty();
  sense.node = (is_one_of(kNode, last) || is_one_of(kNode, very_last)) && !any(kOthers);
  sense.counter = is_one_of(kCounter, last) || is_one_of(kCounter, very_last);
  sense.time = is_one_of(kTime, last) && (!is_duration || sense.unit == "s" || sense.unit == "ms");
  sense.receiver = any(kReceiver) && !any(kRssi) && !any(kSnr) && sense.unit.empty();
  sense.rssi = any(kRssi) && (sense.unit.empty() || sense.unit == "dbm");
  sense.snr = any(kSnr);
  sense.lqi = any(std::to_array<std::string_view>({"lqi"}));
  sense.noise = is_one_of(std::to_array<std::string_view>({"noise"}), last);
  sense.supply =
      any(kSupply) &&
      (is_one_of(kSupply, last) || last == "voltage" || last == "volt" || last == "level") &&
      sense.unit != "pct";
  sense.payload = is_one_of(kPayload, last) || is_one_of(kPayload, very_last);
  sense.network = any(kNetwork);
  const Quantity* quantity = quantity_for(last);
  if (quantity != nullptr) {
    sense.quantity = std::string{quantity->name};
    if (sense.unit.empty()) sense.unit = std::string{quantity->unit};
    words[head - 1] = std::string{quantity->name};
  }
  if (sense.quantity == "humidity")
    std::erase_if(words, [](const auto& w) { return w == "rel" || w == "relative"; });
  sense.name = reading_words(words);
  return sense;
}

}  // namespace fieldfare::learn
