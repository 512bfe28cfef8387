// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/inlet_plan.h"

#include <gtest/gtest.h>

// The sites here are invented.
namespace fieldfare::app {
namespace {

fleet::NodeSheet sheet(const std::string& name, fleet::Framing framing) {
  fleet::NodeSheet made;
  made.head.name = name;
  made.frame.emplace();
  made.frame->framing = framing;
  return made;
}

fleet::Node node(const std::string& name, std::size_t its_sheet) {
  fleet::Node made;
  made.name = name;
  made.sheet = its_sheet;
  return made;
}

/// Two kinds of node; the second is used only where `both`.
fleet::Site site(fleet::Framing first, fleet::Framing second, bool both) {
  fleet::Site made;
  made.node_sheets = {sheet("probe", first), sheet("door", second)};
  made.nodes.push_back(node("cave 1 north", 0));
  if (both) made.nodes.push_back(node("cold store door", 1));
  fleet::Receiver office;
  office.name = "office";
  office.source = "serial:///dev/ttyUSB0";
  made.receivers.push_back(office);
  return made;
}

std::string complaint(const Result<std::vector<InletPlan>, Trouble>& plans) {
  return plans ? std::string{} : plans.error().complaints.front().text();
}

TEST(InletPlan, KnowsTheFramesOfTheKindsThatTheSiteHas) {
  const fleet::Site here = site(fleet::Framing::hdlc, fleet::Framing::slip, false);
  const auto plans = plan_inlets(here, {});
  ASSERT_TRUE(plans.has_value()) << complaint(plans);
  ASSERT_EQ(plans->size(), 1U);
  ASSERT_EQ(plans->front().known.size(), 1U);
  EXPECT_EQ(plans->front().known.front().sheet, "probe");
  EXPECT_EQ(plans->front().known.front().tag, 0U);
}

TEST(InletPlan, KindsThatCutAStreamDifferentlyNeedASheetForTheReceiver) {
  const fleet::Site here = site(fleet::Framing::hdlc, fleet::Framing::slip, true);
  EXPECT_NE(complaint(plan_inlets(here, {})).find("sheets probe and door"), std::string::npos);
}

TEST(InletPlan, OfMessagesEveryKindIsReadHoweverItIsFramed) {
  const fleet::Site here = site(fleet::Framing::hdlc, fleet::Framing::slip, true);
  const auto plans = plan_inlets(here, {{"office", "udp://127.0.0.1:5005", false}});
  ASSERT_TRUE(plans.has_value()) << complaint(plans);
  EXPECT_EQ(plans->size(), 1U);
  EXPECT_EQ(plans->front().known.size(), 2U);
}

TEST(InletPlan, AStreamOfFramesWithoutFramingCannotBeCut) {
  const fleet::Site here = site(fleet::Framing::none, fleet::Framing::none, true);
  EXPECT_NE(complaint(plan_inlets(here, {})).find("cut into frames"), std::string::npos);
}

TEST(InletPlan, AReceiverThatSendsALogIsReadAsOneWhateverTheSheetsSay) {
  fleet::Site here = site(fleet::Framing::hdlc, fleet::Framing::slip, true);
  here.receivers.front().sends_log = true;
  const auto plans = plan_inlets(here, {});
  ASSERT_TRUE(plans.has_value()) << complaint(plans);
  EXPECT_TRUE(plans->front().reads_rows());
}

TEST(InletPlan, SpokenSourcesStandInForAllOfTheSites) {
  const fleet::Site here = site(fleet::Framing::hdlc, fleet::Framing::hdlc, false);
  const auto plans = plan_inlets(here, {{"cellar", "pipe:-", true}});
  ASSERT_TRUE(plans.has_value()) << complaint(plans);
  ASSERT_EQ(plans->size(), 1U);
  EXPECT_EQ(plans->front().receiver, "cellar");
  EXPECT_TRUE(plans->front().reads_rows());
}

TEST(InletPlan, ASiteWithoutSourcesIsToldHowToSayThem) {
  fleet::Site here = site(fleet::Framing::hdlc, fleet::Framing::slip, false);
  here.receivers.front().source.clear();
  EXPECT_NE(complaint(plan_inlets(here, {})).find("--source NAME=URL"), std::string::npos);
}

TEST(InletPlan, AUrlThatCantBeReadNamesItsReceiver) {
  fleet::Site here = site(fleet::Framing::hdlc, fleet::Framing::slip, false);
  here.receivers.front().source = "carrier-pigeon://loft";
  EXPECT_NE(complaint(plan_inlets(here, {})).find("receiver office"), std::string::npos);
}

}  // namespace
}  // namespace fieldfare::app
