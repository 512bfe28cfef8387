// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/check.h"

#include <cassert>
#include <functional>
#include <numeric>
#include <optional>
#include <string_view>

#include "fieldfare/base/crc.h"

namespace fieldfare::wire {
namespace {

/// Where things are in a frame of a known length.
struct Places {
  std::size_t at = 0;
  std::size_t from = 0;
  std::size_t to = 0;
};

std::optional<std::size_t> place(int offset, std::size_t length) {
  if (offset >= 0) return static_cast<std::size_t>(offset);
  const auto back = static_cast<std::size_t>(-std::int64_t{offset});
  if (back > length) return std::nullopt;
  return length - back;
}

/// Nothing where the frame is too short for the check and what it covers.
std::optional<Places> places(const fleet::CheckFacts& facts, std::size_t length) {
  const std::optional<std::size_t> at = place(facts.at, length);
  const std::optional<std::size_t> from = place(facts.from, length);
  std::optional<std::size_t> to = facts.to == 0 ? at : place(facts.to, length);
  const bool counts_alike = (facts.at < 0) == (facts.from < 0);
  const bool leads = counts_alike ? facts.at < facts.from : facts.at >= 0;
  if (facts.to == 0 && leads) to = length;
  if (!at || !from || !to) return std::nullopt;
  const auto sent = static_cast<std::size_t>(fleet::sent_octets(facts));
  if (*at + sent > length || *from > *to || *to > length) return std::nullopt;
  const bool overlap = *from < *at + sent && *at < *to;
  if (overlap) return std::nullopt;
  return Places{*at, *from, *to};
}

std::optional<unsigned> hex_digit(std::uint8_t sign) {
  if (sign >= '0' && sign <= '9') return sign - '0';
  if (sign >= 'A' && sign <= 'F') return sign - 'A' + 10;
  if (sign >= 'a' && sign <= 'f') return sign - 'a' + 10;
  return std::nullopt;
}

std::uint64_t sum_of(std::span<const std::uint8_t> octets, fleet::Complement complement) {
  const std::uint64_t sum = std::accumulate(octets.begin(), octets.end(), std::uint64_t{0});
  switch (complement) {
    case fleet::Complement::none:
      return sum;
    case fleet::Complement::ones:
      return ~sum;
    case fleet::Complement::twos:
      return ~sum + 1;
  }
  return sum;
}

}  // namespace

struct FrameCheck::Impl {
  explicit Impl(const fleet::CheckFacts& facts_in) : facts{facts_in} {
    if (facts.kind == fleet::CheckKind::crc) crc.emplace(*find_crc_model(facts.crc));
  }

  std::uint64_t value_of(std::span<const std::uint8_t> octets) const {
    switch (facts.kind) {
      case fleet::CheckKind::crc:
        return crc->of(octets);
      case fleet::CheckKind::sum:
        return sum_of(octets, facts.complement);
      case fleet::CheckKind::exclusive_or:
        return std::accumulate(octets.begin(), octets.end(), std::uint64_t{0}, std::bit_xor<>{});
    }
    return 0;
  }

  /// Place of an octet of the value, 0 the least significant, among those sent.
  std::size_t sent_place(std::size_t octet) const {
    const auto width = static_cast<std::size_t>(facts.octets);
    return facts.order == fleet::ByteOrder::little ? octet : width - 1 - octet;
  }

  bool holds(std::span<const std::uint8_t> frame) const {
    const std::optional<Places> where = places(facts, frame.size());
    if (!where) return false;
    const std::uint64_t value = value_of(frame.subspan(where->from, where->to - where->from));
    const std::uint8_t* const sent = frame.data() + where->at;
    for (std::size_t i = 0; i < static_cast<std::size_t>(facts.octets); ++i) {
      const auto due = static_cast<std::uint8_t>(value >> 8 * i);
      if (!facts.as_hex_digits) {
        if (sent[sent_place(i)] != due) return false;
        continue;
      }
      const std::optional<unsigned> high = hex_digit(sent[2 * sent_place(i)]);
      const std::optional<unsigned> low = hex_digit(sent[2 * sent_place(i) + 1]);
      if (!high || !low || (*high << 4 | *low) != due) return false;
    }
    return true;
  }

  void write(std::span<std::uint8_t> frame) const {
    constexpr std::string_view kDigits = "0123456789ABCDEF";
    const std::optional<Places> where = places(facts, frame.size());
    assert(where);
    const std::uint64_t value = value_of(frame.subspan(where->from, where->to - where->from));
    std::uint8_t* const sent = frame.data() + where->at;
    for (std::size_t i = 0; i < static_cast<std::size_t>(facts.octets); ++i) {
      const auto due = static_cast<std::uint8_t>(value >> 8 * i);
      if (facts.as_hex_digits) {
        sent[2 * sent_place(i)] = static_cast<std::uint8_t>(kDigits[due >> 4U]);
        sent[2 * sent_place(i) + 1] = static_cast<std::uint8_t>(kDigits[due & 0xFU]);
      } else {
        sent[sent_place(i)] = due;
      }
    }
  }

  fleet::CheckFacts facts;
  std::optional<Crc> crc;
};

FrameCheck::FrameCheck(const fleet::CheckFacts& facts) : impl_{std::make_unique<Impl>(facts)} {}
FrameCheck::~FrameCheck() = default;
FrameCheck::FrameCheck(FrameCheck&&) noexcept = default;
FrameCheck& FrameCheck::operator=(FrameCheck&&) noexcept = default;

bool FrameCheck::holds(std::span<const std::uint8_t> frame) const { return impl_->holds(frame); }

bool FrameCheck::has_room(std::size_t octets) const {
  return places(impl_->facts, octets).has_value();
}

void FrameCheck::write(std::span<std::uint8_t> frame) const { impl_->write(frame); }

}  // namespace fieldfare::wire
