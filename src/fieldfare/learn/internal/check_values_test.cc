// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/check_values.h"

#include <gtest/gtest.h>

#include <string_view>

namespace fieldfare::learn {
namespace {

std::vector<std::uint32_t> running(const CheckMaker& maker, std::string_view text) {
  std::vector<std::uint32_t> out;
  const std::vector<std::uint8_t> octets(text.begin(), text.end());
  running_checks(maker, octets, out);
  return out;
}

// Source: the check values of the catalogue, which base/crc.h carries.
TEST(CheckValues, OfEveryCrcOfTheCatalogueAreItsPublishedOnes) {
  std::size_t crcs = 0;
  for (const CheckMaker& maker : all_check_makers()) {
    if (maker.model == nullptr) continue;
    ++crcs;
    EXPECT_EQ(running(maker, "123456789").back(), maker.model->check) << maker.model->name;
  }
  EXPECT_GE(crcs, 50u);
}

TEST(CheckValues, OfEveryBeginningAreThoseOfTheBeginningAlone) {
  for (const CheckMaker& maker : all_check_makers()) {
    const auto all = running(maker, "123456789");
    ASSERT_EQ(all.size(), 10u);
    for (std::size_t i = 0; i <= 9; ++i) {
      EXPECT_EQ(all[i], running(maker, std::string_view{"123456789"}.substr(0, i)).back());
    }
  }
}

// 1 + 2 + 250 = 253 = FD; 01 ^ 02 ^ FA = F9, by hand.
TEST(CheckValues, OfSumsAndExclusiveOrAreThoseCountedByHand) {
  for (const CheckMaker& maker : all_check_makers()) {
    if (maker.kind == fleet::CheckKind::crc) continue;
    const std::uint32_t value = running(maker, "\x01\x02\xFA").back();
    if (maker.kind == fleet::CheckKind::exclusive_or) {
      EXPECT_EQ(value, 0xF9u);
    } else if (maker.octets == 1) {
      EXPECT_EQ(value, maker.complement == fleet::Complement::none   ? 0xFDu
                       : maker.complement == fleet::Complement::ones ? 0x02u
                                                                     : 0x03u);
    } else {
      EXPECT_EQ(value, maker.complement == fleet::Complement::none   ? 0x00FDu
                       : maker.complement == fleet::Complement::ones ? 0xFF02u
                                                                     : 0xFF03u);
    }
  }
}

}  // namespace
}  // namespace fieldfare::learn
