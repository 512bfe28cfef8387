// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace fieldfare {

/// The address of a node as printed on its label and sent in its frames: 1 to
/// 16 hex digits (an EUI-64 has 16, an EUI-48 12, an IEEE 802.15.4 short address
/// 4). The number of digits belongs to the address: `5C` and `005C` differ.
struct Address {
  std::uint64_t value = 0;
  std::uint8_t digits = 0;

  bool operator==(const Address&) const = default;

  /// True where the universal/local bit of an EUI-48 or EUI-64 says that the
  /// address was given locally and belongs to no manufacturer (IEEE 802 U/L
  /// bit: 0x02 of the first octet). False for other lengths.
  bool locally_administered() const;

  /// Upper-case hex, no separators, leading zeros as given.
  std::string text() const;
};

/// Reads hex digits in either case. Separators `:`, `-` (between groups of two
/// or four digits, the same one throughout) are ignored. Nothing for anything
/// else, so that a name is never taken for an address by accident: `a-b` is none.
std::optional<Address> parse_address(std::string_view text);

/// Modified EUI-64 of an EUI-48: FF-FE put in the middle, U/L bit inverted.
/// Precondition: 12 digits. Source: RFC 4291 appendix A.
Address eui64_from_mac(Address mac);

/// The least number of final digits by which the given addresses can be told
/// apart, at least 1: what a person has to type of a label. Nothing where no
/// number suffices, because one address is given twice or is the ending of
/// another.
std::optional<std::size_t> unique_suffix_digits(std::span<const Address> addresses);

}  // namespace fieldfare

template <>
struct std::hash<fieldfare::Address> {
  std::size_t operator()(const fieldfare::Address& address) const noexcept {
    return std::hash<std::uint64_t>{}(address.value * 31 + address.digits);
  }
};
