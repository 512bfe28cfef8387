// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/inlet.h"

#include <gtest/gtest.h>

namespace fieldfare::app {
namespace {

constexpr Instant kNoon{1'772'450'100'000'000'000};  // 2026-03-02T11:15:00Z

Instant after(double seconds) { return kNoon + Duration::seconds(seconds); }

class Nothing : public wire::HearingStream {
 public:
  void hearing(const fleet::Hearing&, std::optional<std::uint32_t>) override { ++hearings; }
  void unread(const wire::Unread&) override {}
  int hearings = 0;
};

/// Rows of a log, from a file.
class InletOfAFile : public testing::Test {
 protected:
  InletOfAFile() {
    InletPlan plan;
    plan.receiver = "cellar";
    plan.endpoint = fleet::FileEndpoint{"log.csv", false};
    inlet_.emplace(plan, labels_, wire::DecoderOptions{"log.csv", "cellar", nullptr, {}, {}},
                   [](std::uint64_t mark, std::uint64_t octets) { return mark - octets; });
  }

  void come(source::Condition condition, double at_s) {
    inlet_->change({after(at_s), condition, {}, {}}, out_);
  }
  void read(std::string_view text, std::uint64_t mark) {
    inlet_->read({0, after(1), 0, text.size(), false, false, ++ticket_, mark},
                 {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()}, out_);
  }

  fleet::Labels labels_;
  std::optional<Inlet> inlet_;
  Nothing out_;
  std::uint64_t ticket_ = 0;
};

TEST_F(InletOfAFile, ListensFromComingUpToGoingDown) {
  come(source::Condition::up, 0);
  EXPECT_FALSE(inlet_->tick(after(1)));
  come(source::Condition::down, 1.5);
  ASSERT_TRUE(inlet_->awake());
  EXPECT_EQ(inlet_->awake()->from, kNoon);
  EXPECT_EQ(inlet_->awake()->to, after(1.5));
  inlet_->forget_last_stretch();
  EXPECT_FALSE(inlet_->awake());
}

TEST_F(InletOfAFile, AMachineThatSleptListenedUntilItsLastSignOfLife) {
  come(source::Condition::up, 0);
  EXPECT_FALSE(inlet_->tick(after(3)));
  const auto ended = inlet_->tick(after(60));
  ASSERT_TRUE(ended);
  EXPECT_EQ(ended->from, kNoon);
  EXPECT_EQ(ended->to, after(3));
  EXPECT_EQ(inlet_->awake()->from, after(60));
}

TEST_F(InletOfAFile, ItsMarkIsThePlaceOfTheFirstRowThatIsNotWhole) {
  come(source::Condition::up, 0);
  read("time,node\n2026-03-02T11:00:00Z,02AA\n2026-03-02T11:0", 50);
  EXPECT_EQ(out_.hearings, 1);
  ASSERT_EQ(inlet_->marks().size(), 1U);
  EXPECT_EQ(inlet_->marks().front(), 50U - 15U);
  read("5:00Z,02AA\n", 61);
  EXPECT_EQ(out_.hearings, 2);
  EXPECT_EQ(inlet_->marks().front(), 61U);
}

TEST_F(InletOfAFile, TotalsGoOnFromEarlierListening) {
  store::SourceTotals before;
  before.ledger.bytes_fed = 10;
  before.ledger.bytes_in_frames = 7;
  before.ledger.bytes_pending = 3;
  before.repeated = 2;
  inlet_->take_up(before);
  read("time,node\n", 10);
  const store::SourceTotals totals = inlet_->totals(after(2));
  EXPECT_EQ(totals.ledger.bytes_fed, 17U);
  EXPECT_EQ(totals.repeated, 2U);
  EXPECT_TRUE(totals.ledger.balances());
  EXPECT_EQ(inlet_->run(after(2)).ledger.bytes_fed, 10U);
}

}  // namespace
}  // namespace fieldfare::app
