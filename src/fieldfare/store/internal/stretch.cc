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

/// Room for one row: a head of 2 bytes, five varints and five measures of at most
/// 10 bytes each.
class RowBytes {
 public:
  void put_byte(unsigned value) { bytes_[size_++] = static_cast<char>(value); }
  void put_varint(std::uint64_t value) {
    for (; value >= 0x80; value >>= 7) put_byte(static_cast<unsigned>(value | 0x80) & 0xff);
    put_byte(static_cast<unsigned>(value));
  }
  std::string_view written() const { return {bytes_.data(), size_}; }
  void clear() { size_ = 0; }

 private:
  std::array<char, 102> bytes_{};
  std::size_t size_ = 0;
};

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

void put_measure(RowBytes& out, double value, Form form) {
  if (form == exact) {
    const auto bits = std::bit_cast<std::uint64_t>(value);
    for (unsigned shift = 0; shift < 64; shift += 8) {
      out.put_byte(static_cast<unsigned>(bits >> shift) & 0xff);
    }
  } else {
    const double scaled = form == whole ? value : std::nearbyint(value * 1000);
    out.put_varint(zigzag(static_cast<std::int64_t>(scaled)));
  }
}

/// What the next row of a node is told as a difference from.
struct Previous {
  std::int64_t arrival = 0;
  std::int64_t time_ns = 0;
  std::uint64_t sequence = 0;
};

void put_row(RowBytes& out, const Row& row, Previous& previous) {
  std::array<Form, Row::kMeasures> forms{};
  unsigned head = unsigned{row.has} << kHasShift;
  for (unsigned i = 0; i < forms.size(); ++i) {
    if (row.measured >> i & 1U) forms[i] = form_of(row.measures[i]);
    head |= unsigned{forms[i]} << (kFormBits * i);
  }
  out.put_byte(head & 0xff);
  out.put_byte(head >> 8);
  out.put_varint(static_cast<std::uint64_t>(difference(row.arrival, previous.arrival)));
  out.put_varint(row.receiver);
  out.put_varint(zigzag(difference(row.time_ns, previous.time_ns)));
  if (row.has & Row::kHasSequence) {
    out.put_varint(zigzag(static_cast<std::int64_t>(row.sequence - previous.sequence)));
    previous.sequence = row.sequence;
  }
  if (row.has & Row::kHasArrivedAt) out.put_varint(zigzag(difference(row.arrived_ns, row.time_ns)));
  for (unsigned i = 0; i < forms.size(); ++i) {
    if (forms[i] != absent) put_measure(out, row.measures[i], forms[i]);
  }
  previous.arrival = row.arrival;
  previous.time_ns = row.time_ns;
}

void put_varint(std::string& out, std::uint64_t value) {
  RowBytes bytes;
  bytes.put_varint(value);
  out += bytes.written();
}

/// Numbers of the rows, by node and as they come.
std::vector<std::uint64_t> by_node(std::span<const Row> rows) {
  std::vector<std::uint64_t> order;
  order.reserve(rows.size());
  for (const Row& row : rows) order.push_back(std::uint64_t{row.node} << 32 | order.size());
  std::sort(order.begin(), order.end());
  for (std::uint64_t& number : order) number &= 0xffffffff;
  return order;
}

}  // namespace

std::string pack_stretch(std::span<const Row> rows) {
  const std::vector<std::uint64_t> order = by_node(rows);
  std::string out{static_cast<char>(kLayout)};
  std::string group;
  RowBytes bytes;
  for (std::size_t begin = 0; begin != order.size();) {
    const std::uint32_t node = rows[order[begin]].node;
    Previous previous;
    group.clear();
    std::size_t end = begin;
    for (; end != order.size() && rows[order[end]].node == node; ++end) {
      bytes.clear();
      put_row(bytes, rows[order[end]], previous);
      group += bytes.written();
    }
    put_varint(out, node);
    put_varint(out, end - begin);
    put_varint(out, group.size());
    out += group;
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
  if (at_ != end_ && *at_ < 0x80) return *at_++;
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
  row.has = static_cast<std::uint8_t>(head >> kHasShift & 15U);
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
