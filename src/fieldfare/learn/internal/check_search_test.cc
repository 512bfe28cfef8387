// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/check_search.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "fieldfare/base/random.h"
#include "fieldfare/learn/internal/odds.h"
#include "fieldfare/wire/check.h"

namespace fieldfare::learn {
namespace {

using fleet::CheckFacts;
using fleet::Octets;

std::vector<Octets> frames_of_no_order(std::uint64_t seed, std::size_t count, std::size_t length) {
  RandomStream random{seed, "no order"};
  std::vector<Octets> out(count, Octets(length));
  for (Octets& frame : out) {
    for (std::uint8_t& octet : frame) octet = static_cast<std::uint8_t>(random.below(256));
    frame[0] = 0x55;
  }
  return out;
}

std::optional<CheckGuess> search(const std::vector<Octets>& frames) {
  static const std::vector<CheckMaker> makers = all_check_makers();
  std::vector<const Octets*> pointers;
  pointers.reserve(frames.size());
  for (const Octets& frame : frames) pointers.push_back(&frame);
  return search_check(pointers, fleet::FrameFacts{}, makers, 16);
}

TEST(CheckSearch, IsNeverCertainInOctetsOfNoOrder) {
  int likely = 0;
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    const auto found = search(frames_of_no_order(seed, 30, 8 + seed % 12));
    if (found) ++likely;
    EXPECT_FALSE(found && sureness_of(found->bits) == Sureness::certain) << seed;
  }
  EXPECT_LE(likely, 9);  // likely means: less than once in a hundred
}

TEST(CheckSearch, FindsEveryCheckThatASheetCanName) {
  std::uint64_t seed = 0;
  for (const CheckMaker& maker : all_check_makers()) {
    CheckFacts facts;
    facts.kind = maker.kind;
    if (maker.model != nullptr) facts.crc = maker.model->name;
    facts.octets = maker.octets;
    facts.complement = maker.complement;
    facts.order = seed % 2 == 0 ? fleet::ByteOrder::big : fleet::ByteOrder::little;
    facts.at = -facts.octets;
    facts.from = static_cast<int>(seed % 3);
    const wire::FrameCheck check{facts};
    std::vector<Octets> frames = frames_of_no_order(++seed, 30, 20);
    // Three in ten are damaged.
    for (std::size_t i = 0; i < 21; ++i) check.write(frames[i]);
    const auto found = search(frames);
    ASSERT_TRUE(found) << facts.crc;
    EXPECT_GE(found->held, 21u);
    const bool is_among_rivals = std::count(found->rivals.begin(), found->rivals.end(), facts) > 0;
    if (facts.octets == 1) facts.order = found->facts.order;
    EXPECT_TRUE(found->facts == facts || is_among_rivals) << facts.crc;
  }
}

TEST(CheckSearch, FindsNoneWhereItsValueNeverChanges) {
  std::vector<Octets> frames = frames_of_no_order(1, 30, 12);
  for (Octets& frame : frames) {
    for (std::size_t at = 6; at < 12; ++at) frame[at] = 0;
  }
  EXPECT_FALSE(search(frames));
}

}  // namespace
}  // namespace fieldfare::learn
