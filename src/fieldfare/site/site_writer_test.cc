// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/site_writer.h"

#include <gtest/gtest.h>

#include "fieldfare/site/load.h"

namespace fieldfare::site {
namespace {

fleet::Node node(std::string name, const char* address, std::string label) {
  fleet::Node made;
  made.name = std::move(name);
  if (*address != 0) made.address = parse_address(address);
  made.label = std::move(label);
  return made;
}

/// Invented.
fleet::Site desk_site() {
  fleet::Site site;
  site.name = "A desk at \"Tarn Dairy\" \\ yard";
  site.timezone = "Europe/London";
  site.pan_id = std::uint16_t{0x0D21};
  site.receivers.push_back({"r1", {}, "serial:///dev/ttyUSB0?baud=9600", false, {}});
  site.receivers.push_back({"r2", {}, "file:week.csv", true, {}});
  site.nodes.push_back(node("cave 1 north", "024D210000005CE7", "5CE7"));
  site.nodes.push_back(node("node 12", "12", ""));
  site.nodes.push_back(node("mute", "", "0A1B"));
  return site;
}

TEST(SiteWriter, WhatIsWrittenLoadsAsTheSame) {
  const fleet::Site site = desk_site();
  const std::string text = begun_site_text(site, {"first line\nsecond line \x01"});
  const auto loaded = load_site({"", text, {}});
  ASSERT_TRUE(loaded) << loaded.error().front().text() << '\n' << text;
  EXPECT_TRUE(loaded->warnings.empty()) << loaded->warnings.front().text();
  const fleet::Site& read = loaded->site;
  EXPECT_EQ(read.name, site.name);
  EXPECT_EQ(read.timezone, site.timezone);
  EXPECT_EQ(read.pan_id, site.pan_id);
  ASSERT_EQ(read.receivers.size(), site.receivers.size());
  for (std::size_t i = 0; i < site.receivers.size(); ++i) {
    EXPECT_EQ(read.receivers[i].name, site.receivers[i].name);
    EXPECT_EQ(read.receivers[i].source, site.receivers[i].source);
    EXPECT_EQ(read.receivers[i].sends_log, site.receivers[i].sends_log);
  }
  ASSERT_EQ(read.nodes.size(), site.nodes.size());
  for (std::size_t i = 0; i < site.nodes.size(); ++i) {
    EXPECT_EQ(read.nodes[i].name, site.nodes[i].name);
    EXPECT_EQ(read.nodes[i].address, site.nodes[i].address);
    EXPECT_EQ(read.nodes[i].label, site.nodes[i].label);
  }
}

TEST(SiteWriter, NotesAreCommentsWhateverTheyHold) {
  const std::string text = begun_site_text(desk_site(), {"]\n[site]\nname = \"other\""});
  const auto loaded = load_site({"", text, {}});
  ASSERT_TRUE(loaded);
  EXPECT_EQ(loaded->site.name, desk_site().name);
  EXPECT_NE(text.find("# [site]"), std::string::npos);
}

TEST(SiteWriter, ALabelOnAnotherCaseIsWarnedOf) {
  fleet::Site site = desk_site();
  site.nodes[0].label = "1234";
  const auto loaded = load_site({"", begun_site_text(site, {}), {}});
  ASSERT_TRUE(loaded);
  ASSERT_EQ(loaded->warnings.size(), 1U);
  EXPECT_NE(loaded->warnings[0].what.find("1234"), std::string::npos);
}

}  // namespace
}  // namespace fieldfare::site
