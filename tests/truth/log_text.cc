// SPDX-License-Identifier: Apache-2.0
#include "log_text.h"

#include <array>
#include <charconv>
#include <chrono>
#include <cstddef>

namespace fieldfare::truth {
namespace {

constexpr std::int64_t kSecondNs = 1'000'000'000;

void append_padded(std::uint64_t number, std::size_t digits, std::string& text) {
  text.append(digits, '0');
  for (std::size_t i = 0; i < digits; ++i, number /= 10) {
    text[text.size() - 1 - i] = static_cast<char>('0' + number % 10);
  }
}

template <class Number>
void append_number(Number number, std::string& text) {
  std::array<char, 32> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
  text.append(digits.data(), end);
}

std::optional<std::int64_t> read_digits(std::string_view text) {
  std::int64_t number = 0;
  const char* const end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, number);
  if (error != std::errc{} || stop != end || number < 0) return std::nullopt;
  return number;
}

}  // namespace

void append_time(std::int64_t time_ns, std::string& text) {
  const std::chrono::sys_time<std::chrono::nanoseconds> time{std::chrono::nanoseconds{time_ns}};
  const auto day = std::chrono::floor<std::chrono::days>(time);
  const std::chrono::year_month_day date{day};
  const std::chrono::hh_mm_ss clock{time - day};
  append_padded(static_cast<std::uint64_t>(static_cast<int>(date.year())), 4, text);
  text += '-';
  append_padded(static_cast<unsigned>(date.month()), 2, text);
  text += '-';
  append_padded(static_cast<unsigned>(date.day()), 2, text);
  text += 'T';
  append_padded(static_cast<std::uint64_t>(clock.hours().count()), 2, text);
  text += ':';
  append_padded(static_cast<std::uint64_t>(clock.minutes().count()), 2, text);
  text += ':';
  append_padded(static_cast<std::uint64_t>(clock.seconds().count()), 2, text);
  text += '.';
  append_padded(static_cast<std::uint64_t>(clock.subseconds().count()), 9, text);
  text += 'Z';
}

std::optional<std::int64_t> read_time(std::string_view text) {
  // 2026-01-05T00:00:00.000000000Z
  if (text.size() < 20 || text.back() != 'Z' || text[10] != 'T') return std::nullopt;
  const auto field = [&](std::size_t at, std::size_t length) {
    return read_digits(text.substr(at, length));
  };
  const auto year = field(0, 4);
  const auto month = field(5, 2);
  const auto day = field(8, 2);
  const auto hour = field(11, 2);
  const auto minute = field(14, 2);
  const auto second = field(17, 2);
  if (!year || !month || !day || !hour || !minute || !second) return std::nullopt;
  std::int64_t fraction_ns = 0;
  if (text[19] == '.') {
    std::string decimals{text.substr(20, text.size() - 21)};
    decimals.resize(9, '0');
    const auto read = read_digits(decimals);
    if (!read) return std::nullopt;
    fraction_ns = *read;
  }
  const std::chrono::year_month_day date{std::chrono::year{static_cast<int>(*year)},
                                         std::chrono::month{static_cast<unsigned>(*month)},
                                         std::chrono::day{static_cast<unsigned>(*day)}};
  if (!date.ok()) return std::nullopt;
  const std::int64_t days = std::chrono::sys_days{date}.time_since_epoch().count();
  return (((days * 24 + *hour) * 60 + *minute) * 60 + *second) * kSecondNs + fraction_ns;
}

std::string node_address(std::uint32_t node) {
  std::array<char, 8> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), node, 16).ptr;
  const std::string hex{digits.data(), end};
  std::string address = "02000000" + std::string(8 - hex.size(), '0') + hex;
  for (char& c : address) c = c >= 'a' ? static_cast<char>(c - 'a' + 'A') : c;
  return address;
}

std::string csv_text(std::span<const Row> rows) {
  std::string text = "time,node,receiver,seq,rssi_dbm\n";
  for (const Row& row : rows) {
    append_time(row.time_ns, text);
    text += ',' + node_address(row.node) + ",r";
    append_number(row.receiver + 1, text);
    text += ',';
    append_number(row.seq, text);
    text += ',';
    append_number(row.rssi_dbm, text);
    text += '\n';
  }
  return text;
}

}  // namespace fieldfare::truth
