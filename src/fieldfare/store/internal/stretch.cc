// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/stretch.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <vector>

namespace fieldfare::store {
namespace {

constexpr unsigned char kLayout = 1;

/// How a measure is written; two bits of a row's head for each.
enum Form : std::uint8_t { absent, whole, thousandths, exact };

constexpr unsigned kFormBits = 2;
constexpr unsigned kHasShift = kFormBits * Row::kMeasures;

void put_varint(std::string& out, std::uint64_t value) {
  for (; value >= 0x80; value >>= 7) out += static_cast<char>(value | 0x80);
  out += static_cast<char>(value);
}

/// Small numbers of either sign become small unsigned ones: 0, -1, 1, -2, ...
std::uint64_t zigzag(std::int64_t value) {
  return (static_cast<std::uint64_t>(value) << 1) ^ static_cast<std::uint64_t>(value >> 63);
}

std::int64_t unzigzag(std::uint64_t value) {
  return static_cast<std::int64_t>(value >> 1) ^ -static_cast<std::int64_t>(value & 1);
}

/// Differences wrap, so that any two numbers have one and the sum is exact.
std::int64_t difference(std::int64_t a, std::int64_t b) {
  return static_cast<std::int64_t>(static_cast<std::uint64_t>(a) - static_cast<std::uint64_t>(b));
}

std::int64_t sum(std::int64_t a, std::int64_t b) {
  return static_cast<std::int64_t>(static_cast<std::uint64_t>(a) + static_cast<std::uint64_t>(b));
}

/// The shortest form that gives back the very same number.
Form form_of(double value) {
  constexpr double kMost = 1e9;
  if (!(std::abs(value) < kMost) || (value == 0 && std::signbit(value))) return exact;
  if (std::nearbyint(value) == value) return whole;
  return std::nearbyint(value * 1000) / 1000 == value ? thousandths : exact;
}

void put_measure(std::string& out, double value, Form form) {
  if (form == exact) {
    const auto bits = std::bit_cast<std::uint64_t>(value);
    for (unsigned shift = 0; shift < 64; shift += 8) out += static_cast<char>(bits >> shift);
  } else {
    const double scaled = form == whole ? value : std::nearbyint(value * 1000);
    put_varint(out, zigzag(static_cast<std::int64_t>(scaled)));
  }
}

void put_row(std::string& out, const Row& row, const Row& previous) {
  std::array<Form, Row::kMeasures> forms{};
  unsigned head = unsigned{row.has} << kHasShift;
  for (unsigned i = 0; i < forms.size(); ++i) {
    if (row.measured >> i & 1U) forms[i] = form_of(row.measures[i]);
    head |= unsigned{forms[i]} << (kFormBits * i);
  }
  out += static_cast<char>(head);
  out += static_cast<char>(head >> 8);
  put_varint(out, static_cast<std::uint64_t>(difference(row.arrival, previous.arrival)));
  put_varint(out, row.receiver);
  put_varint(out, zigzag(difference(row.time_ns, previous.time_ns)));
  if (row.has & Row::kHasSequence) {
    put_varint(out, zigzag(static_cast<std::int64_t>(row.sequence - previous.sequence)));
  }
  if (row.has & Row::kHasArrivedAt)
    put_varint(out, zigzag(difference(row.arrived_ns, row.time_ns)));
  for (unsigned i = 0; i < forms.size(); ++i) {
    if (forms[i] != absent) put_measure(out, row.measures[i], forms[i]);
  }
}

void put_group(std::string& out, std::span<const Row> group) {
  std::string rows;
  Row previous;
  for (const Row& row : group) {
    put_row(rows, row, previous);
    const std::uint64_t sequence = row.has & Row::kHasSequence ? row.sequence : previous.sequence;
    previous = row;
    previous.sequence = sequence;
  }
  put_varint(out, group.front().node);
  put_varint(out, group.size());
  put_varint(out, rows.size());
  out += rows;
}

}  // namespace

std::string pack_stretch(std::span<const Row> rows) {
  std::vector<Row> sorted{rows.begin(), rows.end()};
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const Row& a, const Row& b) { return a.node < b.node; });
  std::string out{static_cast<char>(kLayout)};
  for (auto begin = sorted.begin(); begin != sorted.end();) {
    const auto end =
        std::find_if(begin, sorted.end(), [&](const Row& row) { return row.node != begin->node; });
    put_group(out, {begin, end});
    begin = end;
  }
  return out;
}

StretchReader::StretchReader(std::string_view packed, const std::unordered_set<std::uint32_t>* only)
    : at_{reinterpret_cast<const unsigned char*>(packed.data())},
      end_{at_ + packed.size()},
      only_{only} {
  if (packed.empty() || *at_++ != kLayout) stop(true);
}

bool StretchReader::stop(bool damaged) {
  damaged_ = damaged_ || damaged;
  at_ = end_;
  left_in_group_ = 0;
  return false;
}

std::uint64_t StretchReader::take_varint() {
  std::uint64_t value = 0;
  for (unsigned shift = 0; at_ != end_ && shift < 64; shift += 7) {
    const unsigned char byte = *at_++;
    value |= static_cast<std::uint64_t>(byte & 0x7f) << shift;
    if (byte < 0x80) return value;
  }
  damaged_ = true;
  return 0;
}

std::int64_t StretchReader::take_signed() { return unzigzag(take_varint()); }

double StretchReader::take_measure(unsigned form) {
  if (form == whole) return static_cast<double>(take_signed());
  if (form == thousandths) return static_cast<double>(take_signed()) / 1000;
  if (end_ - at_ < 8) {
    damaged_ = true;
    return 0;
  }
  std::uint64_t bits = 0;
  for (unsigned shift = 0; shift < 64; shift += 8) bits |= std::uint64_t{*at_++} << shift;
  return std::bit_cast<double>(bits);
}

bool StretchReader::next_group() {
  while (at_ != end_) {
    node_ = static_cast<std::uint32_t>(take_varint());
    left_in_group_ = take_varint();
    const std::uint64_t bytes = take_varint();
    if (damaged_ || left_in_group_ == 0 || bytes > static_cast<std::uint64_t>(end_ - at_)) {
      return stop(true);
    }
    if (!only_ || only_->contains(node_)) {
      arrival_ = 0;
      time_ns_ = 0;
      sequence_ = 0;
      return true;
    }
    at_ += bytes;
    left_in_group_ = 0;
  }
  return false;
}

bool StretchReader::next(Row& row) {
  if (left_in_group_ == 0 && !next_group()) return false;
  if (end_ - at_ < 2) return stop(true);
  const unsigned head = at_[0] | unsigned{at_[1]} << 8;
  at_ += 2;
  row.node = node_;
  row.arrival = arrival_ = sum(arrival_, static_cast<std::int64_t>(take_varint()));
  row.receiver = static_cast<std::uint32_t>(take_varint());
  row.time_ns = time_ns_ = sum(time_ns_, take_signed());
  row.has = static_cast<std::uint8_t>(head >> kHasShift & 7U);
  row.measured = 0;
  if (row.has & Row::kHasSequence) {
    row.sequence = sequence_ += static_cast<std::uint64_t>(take_signed());
  }
  if (row.has & Row::kHasArrivedAt) row.arrived_ns = sum(row.time_ns, take_signed());
  for (unsigned i = 0; i < Row::kMeasures; ++i) {
    const unsigned form = head >> (kFormBits * i) & 3U;
    if (form == absent) continue;
    row.measures[i] = take_measure(form);
    row.measured = static_cast<std::uint8_t>(row.measured | 1U << i);
  }
  if (damaged_) return stop(true);
  --left_in_group_;
  return true;
}

}  // namespace fieldfare::store
