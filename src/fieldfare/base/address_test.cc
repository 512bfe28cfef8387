// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/address.h"

#include <gtest/gtest.h>

#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare {
namespace {

TEST(ParseAddress, IgnoresCaseAndSeparators) {
  const Address address{0x0200'5C1F'A301, 12};
  for (const char* text : {"02005C1FA301", "02005c1fa301", "02:00:5c:1f:a3:01", "02-00-5C-1F-A3-01",
                           "0200:5C1F:A301", "0200-5c1f-a301"}) {
    EXPECT_EQ(parse_address(text), address) << text;
  }
}

TEST(ParseAddress, KeepsLeadingZeros) {
  EXPECT_EQ(parse_address("5C"), (Address{0x5C, 2}));
  EXPECT_EQ(parse_address("005C"), (Address{0x5C, 4}));
  EXPECT_EQ(parse_address("0"), (Address{0, 1}));
}

TEST(ParseAddress, RefusesNames) {
  for (const char* text :
       {"", "-", ":", "a-b", "dock", "0x5C", "02:", ":02", "02::00", "02:00-5C", "0200:5C", "02:0",
        "020:05C", "02005C1FA301000000", "02 00", "02:00:", "12345678901234567"}) {
    EXPECT_FALSE(parse_address(text)) << text;
  }
}

TEST(Address, TextIsReadBack) {
  RandomStream random{1, "addresses"};
  for (int i = 0; i < 1000; ++i) {
    const auto digits = static_cast<std::uint8_t>(1 + random.below(16));
    const Address address{random.next() >> (64 - 4 * digits), digits};
    ASSERT_EQ(parse_address(address.text()), address) << address.text();
  }
}

TEST(Address, KnowsTheUniversalLocalBit) {
  EXPECT_TRUE((Address{0x0200'0000'0001, 12}.locally_administered()));
  EXPECT_FALSE((Address{0x0000'0000'0001, 12}.locally_administered()));
  EXPECT_TRUE((Address{0x0200'0000'0000'0001, 16}.locally_administered()));
  EXPECT_FALSE((Address{0x0100'0000'0000'0001, 16}.locally_administered()));
  EXPECT_FALSE((Address{0x0202, 4}.locally_administered()));
}

TEST(Eui64FromMac, AgreesWithRfc4291AppendixA) {
  EXPECT_EQ(eui64_from_mac(Address{0x3456'789A'BCDE, 12}), (Address{0x3656'78FF'FE9A'BCDE, 16}));
}

TEST(Eui64FromMac, ClearsTheLocalBitOfALocalAddress) {
  EXPECT_EQ(eui64_from_mac(Address{0x0200'5C1F'A301, 12}).text(), "00005CFFFE1FA301");
}

std::optional<std::size_t> digits_for(std::initializer_list<const char*> texts) {
  std::vector<Address> addresses;
  for (const char* text : texts) addresses.push_back(parse_address(text).value());
  return unique_suffix_digits(addresses);
}

TEST(UniqueSuffix, IsOneMoreThanTheLongestSharedEnding) {
  // Exact cases, by looking at them.
  EXPECT_EQ(digits_for({"02005C1FA301"}), 1u);
  EXPECT_EQ(digits_for({"02005C1FA301", "02005C1FA302"}), 1u);
  EXPECT_EQ(digits_for({"02005C1FA301", "02005C1FA302", "02005C1FB302"}), 4u);
  EXPECT_EQ(digits_for({"12005C1FA301", "02005C1FA301"}), 12u);
  EXPECT_EQ(digits_for({"A301", "02005C1FA302"}), 1u);
}

TEST(UniqueSuffix, IsNoneWhereOneAddressEndsAnother) {
  EXPECT_FALSE(digits_for({"0201", "0201"}));
  EXPECT_FALSE(digits_for({"A301", "02005C1FA301"}));
}

}  // namespace
}  // namespace fieldfare
