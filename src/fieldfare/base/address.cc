// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/address.h"

#include <algorithm>
#include <cassert>
#include <vector>

namespace fieldfare {
namespace {

constexpr std::size_t kMostDigits = 16;
constexpr std::uint64_t kLocalBit = 0x02;

std::optional<std::uint64_t> hex_digit(char c) {
  if (c >= '0' && c <= '9') return static_cast<std::uint64_t>(c - '0');
  if (c >= 'A' && c <= 'F') return static_cast<std::uint64_t>(c - 'A' + 10);
  if (c >= 'a' && c <= 'f') return static_cast<std::uint64_t>(c - 'a' + 10);
  return std::nullopt;
}

/// Watches that the separators of one address are all the same and cut it into
/// groups of equal length, two or four digits.
class Grouping {
 public:
  bool separate(char separator, std::size_t digits_so_far) {
    const std::size_t size = digits_so_far - group_start_;
    if (separator_ == '\0') {
      separator_ = separator;
      size_ = size;
    }
    group_start_ = digits_so_far;
    return separator == separator_ && size == size_ && (size == 2 || size == 4);
  }
  bool ends_well(std::size_t digits) const {
    return separator_ == '\0' || digits - group_start_ == size_;
  }

 private:
  char separator_ = '\0';
  std::size_t size_ = 0;
  std::size_t group_start_ = 0;
};

}  // namespace

bool Address::locally_administered() const {
  if (digits == 16) return (value >> 56 & kLocalBit) != 0;
  if (digits == 12) return (value >> 40 & kLocalBit) != 0;
  return false;
}

std::string Address::text() const {
  std::string out(digits, '0');
  std::uint64_t rest = value;
  for (std::size_t i = digits; i-- > 0; rest >>= 4) out[i] = "0123456789ABCDEF"[rest & 0xF];
  return out;
}

std::optional<Address> parse_address(std::string_view text) {
  std::uint64_t value = 0;
  std::size_t digits = 0;
  Grouping grouping;
  for (const char c : text) {
    if (c == ':' || c == '-') {
      if (!grouping.separate(c, digits)) return std::nullopt;
      continue;
    }
    const auto digit = hex_digit(c);
    if (!digit || digits == kMostDigits) return std::nullopt;
    value = value << 4 | *digit;
    ++digits;
  }
  if (digits == 0 || !grouping.ends_well(digits)) return std::nullopt;
  return Address{value, static_cast<std::uint8_t>(digits)};
}

Address eui64_from_mac(Address mac) {
  assert(mac.digits == 12);
  const std::uint64_t company = mac.value >> 24;
  const std::uint64_t serial = mac.value & 0xFF'FFFF;
  const std::uint64_t widened = company << 40 | std::uint64_t{0xFFFE} << 24 | serial;
  return {widened ^ kLocalBit << 56, 16};
}

std::optional<std::size_t> unique_suffix_digits(std::span<const Address> addresses) {
  // Backwards and sorted, the two that share the longest ending are neighbours.
  std::vector<std::string> backwards;
  backwards.reserve(addresses.size());
  for (const Address& address : addresses) {
    backwards.push_back(address.text());
    std::reverse(backwards.back().begin(), backwards.back().end());
  }
  std::sort(backwards.begin(), backwards.end());
  std::size_t longest_shared = 0;
  for (std::size_t i = 1; i < backwards.size(); ++i) {
    const std::string& a = backwards[i - 1];
    const std::string& b = backwards[i];
    if (b.starts_with(a)) return std::nullopt;
    const auto differ = std::mismatch(a.begin(), a.end(), b.begin(), b.end());
    longest_shared = std::max(longest_shared, static_cast<std::size_t>(differ.first - a.begin()));
  }
  return longest_shared + 1;
}

}  // namespace fieldfare
