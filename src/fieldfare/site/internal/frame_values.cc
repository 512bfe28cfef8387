// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/frame_values.h"

#include <array>
#include <charconv>
#include <cstdio>
#include <string>

namespace fieldfare::site {
namespace {

using fleet::ByteOrder;
using fleet::NumberForm;
using fleet::NumberKind;

constexpr std::uint16_t kAnyNetwork = 0xFFFF;

bool take(std::string_view& text, std::string_view prefix) {
  if (!text.starts_with(prefix)) return false;
  text.remove_prefix(prefix.size());
  return true;
}

/// A number without leading zeros at the beginning of `text`; it is taken away.
std::optional<int> take_number(std::string_view& text) {
  int number = 0;
  const char* const end = text.data() + text.size();
  if (text.empty() || text.front() == '0' || text.front() == '-') return std::nullopt;
  const auto read = std::from_chars(text.data(), end, number);
  if (read.ec != std::errc{}) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(read.ptr - text.data()));
  return number;
}

std::optional<ByteOrder> order_of(std::string_view text) {
  if (text == "le") return ByteOrder::little;
  if (text == "be") return ByteOrder::big;
  return std::nullopt;
}

/// `u16be` and so on, the letter gone.
std::optional<fleet::BinaryForm> parse_binary_number(NumberKind kind, std::string_view text) {
  const auto bits = take_number(text);
  if (!bits || *bits % 8 != 0 || *bits > 64) return std::nullopt;
  const bool is_real = kind == NumberKind::real;
  if (is_real && *bits != 16 && *bits != 32 && *bits != 64) return std::nullopt;
  if (*bits == 8 && text.empty()) return NumberForm{kind, 1, ByteOrder::big};
  const auto order = order_of(text);
  if (*bits == 8 || !order) return std::nullopt;
  return NumberForm{kind, *bits / 8, *order};
}

std::optional<fleet::BinaryForm> parse_bcd(std::string_view text) {
  constexpr int kMostBytes = 8;
  const auto bytes = take_number(text);
  const auto order = text.empty() ? ByteOrder::big : order_of(text);
  if (!bytes || *bytes > kMostBytes || !order) return std::nullopt;
  return NumberForm{NumberKind::bcd, *bytes, *order};
}

std::optional<fleet::BinaryForm> parse_bytes(std::string_view text) {
  if (text.empty()) return fleet::OctetsForm{};
  const auto bytes = take_number(text);
  const auto order = text.empty() ? ByteOrder::big : order_of(text);
  if (!bytes || !order) return std::nullopt;
  return fleet::OctetsForm{*bytes, *order};
}

std::optional<fleet::BinaryForm> parse_characters(std::string_view text) {
  if (text.empty()) return fleet::TextForm{};
  const auto bytes = take_number(text);
  if (!bytes || !text.empty()) return std::nullopt;
  return fleet::TextForm{*bytes};
}

}  // namespace

std::optional<fleet::BinaryForm> parse_value_type(std::string_view text) {
  if (take(text, "bcd")) return parse_bcd(text);
  if (take(text, "bytes")) return parse_bytes(text);
  if (take(text, "text")) return parse_characters(text);
  if (take(text, "u")) return parse_binary_number(NumberKind::unsigned_integer, text);
  if (take(text, "i")) return parse_binary_number(NumberKind::signed_integer, text);
  if (take(text, "f")) return parse_binary_number(NumberKind::real, text);
  return std::nullopt;
}

std::optional<fleet::Octets> parse_octets(std::string_view text) {
  fleet::Octets octets;
  if (take(text, "text:")) {
    for (const char each : text) {
      const auto octet = static_cast<std::uint8_t>(each);
      if (octet < 0x20 || octet > 0x7E) return std::nullopt;
      octets.push_back(octet);
    }
  } else {
    while (!text.empty()) {
      if (!octets.empty() && text.front() == ' ') text.remove_prefix(1);
      std::uint8_t octet = 0;
      const std::string_view pair = text.substr(0, 2);
      const char* const end = pair.data() + pair.size();
      const auto read = std::from_chars(pair.data(), end, octet, 16);
      if (pair.size() < 2 || read.ec != std::errc{} || read.ptr != end) return std::nullopt;
      octets.push_back(octet);
      text.remove_prefix(2);
    }
  }
  if (octets.empty()) return std::nullopt;
  return octets;
}

std::optional<std::uint16_t> parse_pan_id(std::string_view text) {
  constexpr std::size_t kMostDigits = 4;
  if (!take(text, "0x") || text.empty() || text.size() > kMostDigits) return std::nullopt;
  std::uint16_t id = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), id, 16);
  if (read.ec != std::errc{} || read.ptr != text.data() + text.size() || id == kAnyNetwork) {
    return std::nullopt;
  }
  return id;
}

std::optional<Instant> moment_in(const Value& value) {
  if (const auto* moment = std::get_if<Instant>(&value.data)) return *moment;
  if (const auto* text = std::get_if<std::string>(&value.data)) return parse_rfc3339(*text);
  const auto* date = std::get_if<std::chrono::year_month_day>(&value.data);
  if (!date) return std::nullopt;
  std::array<char, 48> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%04d-%02u-%02uT00:00:00Z",
                static_cast<int>(date->year()), static_cast<unsigned>(date->month()),
                static_cast<unsigned>(date->day()));
  return parse_rfc3339(buffer.data());
}

std::optional<std::int64_t> parse_whole(std::string_view text) {
  std::int64_t number = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), number);
  if (text.empty() || read.ec != std::errc{} || read.ptr != text.data() + text.size()) {
    return std::nullopt;
  }
  return number;
}

}  // namespace fieldfare::site
