// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <bit>
#include <charconv>
#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "fieldfare/wire/internal/tree.h"

namespace fieldfare::wire {
namespace {

constexpr std::uint8_t kNegative = 1 << 5, kOctetString = 2 << 5, kText = 3 << 5, kArray = 4 << 5,
                       kMap = 5 << 5;

void write_octets(std::uint64_t value, std::size_t octets, fleet::Octets& to) {
  for (std::size_t i = octets; i-- > 0;) to.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}

void write_head(std::uint8_t major, std::uint64_t argument, fleet::Octets& to) {
  if (argument < 24) {
    to.push_back(static_cast<std::uint8_t>(major | argument));
    return;
  }
  const unsigned power = argument <= 0xFF         ? 0
                         : argument <= 0xFFFF     ? 1
                         : argument <= 0xFFFFFFFF ? 2
                                                  : 3;
  to.push_back(static_cast<std::uint8_t>(major | (24 + power)));
  write_octets(argument, std::size_t{1} << power, to);
}

void write_integer(std::int64_t value, fleet::Octets& to) {
  if (value >= 0) {
    write_head(0, static_cast<std::uint64_t>(value), to);
  } else {
    write_head(kNegative, static_cast<std::uint64_t>(-1 - value), to);
  }
}

/// IEEE 754 binary16 with exactly this value, where there is one.
std::optional<std::uint16_t> half_of(double value) {
  const std::uint16_t sign = std::signbit(value) ? 0x8000 : 0;
  if (std::isnan(value)) return 0x7E00;
  if (std::isinf(value)) return static_cast<std::uint16_t>(sign | 0x7C00);
  const double size = std::fabs(value);
  if (size == 0) return sign;
  // The least exponent of normal numbers is -14; below, the step stays 2^-24.
  const int exponent = std::max(std::ilogb(size), -14);
  const double steps = std::ldexp(size, 10 - exponent);
  if (exponent > 15 || steps != std::floor(steps)) return std::nullopt;
  const auto fraction = static_cast<std::uint16_t>(steps);
  const int biased = fraction < 1024 ? 0 : exponent + 15;
  return static_cast<std::uint16_t>(sign | biased << 10 | (fraction & 0x3FF));
}

bool is_single(double value) {
  return std::fabs(value) <= std::numeric_limits<float>::max() &&
         static_cast<double>(static_cast<float>(value)) == value;
}

void write_real(double value, fleet::Octets& to) {
  if (const auto half = half_of(value)) {
    to.push_back(0xF9);
    write_octets(*half, 2, to);
  } else if (is_single(value)) {
    to.push_back(0xFA);
    write_octets(std::bit_cast<std::uint32_t>(static_cast<float>(value)), 4, to);
  } else {
    to.push_back(0xFB);
    write_octets(std::bit_cast<std::uint64_t>(value), 8, to);
  }
}

template <class Run>
void write_string(std::uint8_t major, const Run& run, fleet::Octets& to) {
  write_head(major, run.size(), to);
  to.insert(to.end(), run.begin(), run.end());
}

fleet::Octets key_of(const std::string& text, CborKeys keys) {
  fleet::Octets key;
  std::int64_t number = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, number);
  if (keys == CborKeys::as_integers && read.ec == std::errc{} && read.ptr == end) {
    write_integer(number, key);
  } else {
    write_string(kText, text, key);
  }
  return key;
}

void write_map(const Tree& tree, CborKeys keys, fleet::Octets& to) {
  std::vector<std::pair<fleet::Octets, const Tree*>> members;
  for (const auto& [key, value] : tree.items()) members.emplace_back(key_of(key, keys), &value);
  std::sort(members.begin(), members.end());
  write_head(kMap, members.size(), to);
  for (const auto& [key, value] : members) {
    to.insert(to.end(), key.begin(), key.end());
    write_cbor(*value, keys, to);
  }
}

}  // namespace

void write_cbor(const Tree& tree, CborKeys keys, fleet::Octets& octets) {
  switch (tree.type()) {
    case Tree::value_t::null:
    case Tree::value_t::discarded:
      octets.push_back(0xF6);
      return;
    case Tree::value_t::boolean:
      octets.push_back(tree.get<bool>() ? 0xF5 : 0xF4);
      return;
    case Tree::value_t::number_unsigned:
      write_head(0, tree.get<std::uint64_t>(), octets);
      return;
    case Tree::value_t::number_integer:
      write_integer(tree.get<std::int64_t>(), octets);
      return;
    case Tree::value_t::number_float:
      write_real(tree.get<double>(), octets);
      return;
    case Tree::value_t::string:
      write_string(kText, tree.get_ref<const std::string&>(), octets);
      return;
    case Tree::value_t::binary:
      write_string(kOctetString, tree.get_binary(), octets);
      return;
    case Tree::value_t::array:
      write_head(kArray, tree.size(), octets);
      for (const Tree& element : tree) write_cbor(element, keys, octets);
      return;
    case Tree::value_t::object:
      write_map(tree, keys, octets);
      return;
  }
}

}  // namespace fieldfare::wire
