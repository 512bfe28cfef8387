// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/starter.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "fieldfare/site/folder.h"

namespace fieldfare::site {
namespace {

/// The files of a folder as load_site() takes them.
SiteFiles as_site(const std::vector<NamedText>& files) {
  SiteFiles site;
  for (const NamedText& file : files) {
    if (file.name == "site.toml") site.site_toml = file.text;
    if (file.name.starts_with("sheets/")) site.sheets.push_back(file);
  }
  return site;
}

std::string all_of(const std::vector<Complaint>& complaints) {
  std::string text;
  for (const Complaint& each : complaints) text += each.text() + '\n';
  return text;
}

/// The site in these files; what is wrong with them, even a warning, fails the test.
fleet::Site flawless(const std::vector<NamedText>& files) {
  const auto loaded = load_site(as_site(files));
  if (!loaded) {
    ADD_FAILURE() << all_of(loaded.error());
    return {};
  }
  EXPECT_EQ(all_of(loaded->warnings), "");
  return loaded->site;
}

TEST(Starter, LoadsAsItIs) {
  const fleet::Site site = flawless(starter_files("My barn"));
  EXPECT_EQ(site.name, "My barn");
  ASSERT_EQ(site.receivers.size(), 1u);
  EXPECT_EQ(site.receivers[0].name, "r1") << "what a log means that names no receiver";
  EXPECT_TRUE(site.nodes.empty());
}

TEST(Starter, StandsForTheDefaultsThatItShows) {
  const fleet::Site site = flawless(starter_files("x"));
  const fleet::Proof defaults;
  EXPECT_EQ(site.proof.delivery_good, defaults.delivery_good);
  EXPECT_EQ(site.proof.delivery_bad, defaults.delivery_bad);
  EXPECT_EQ(site.proof.alpha, defaults.alpha);
  EXPECT_EQ(site.proof.beta, defaults.beta);
  EXPECT_EQ(site.proof.soak, defaults.soak);
  EXPECT_EQ(site.proof.margin_db, defaults.margin_db);
}

/// Takes the comment sign from lines that show a key or a section.
std::string with_examples_on(const std::string& text) {
  std::string result;
  std::size_t from = 0;
  while (from < text.size()) {
    const std::size_t to = std::min(text.find('\n', from), text.size());
    std::string line = text.substr(from, to - from);
    const bool is_example = line.starts_with("# ") &&
                            (line.find(" = ") != std::string::npos || line.starts_with("# ["));
    result += (is_example ? line.substr(2) : line) + '\n';
    from = to + 1;
  }
  return result;
}

TEST(Starter, LoadsWithEveryExampleLineTakenOutOfItsComment) {
  auto files = starter_files("My barn");
  for (NamedText& file : files) file.text = with_examples_on(file.text);
  const fleet::Site site = flawless(files);
  ASSERT_EQ(site.nodes.size(), 1u);
  ASSERT_TRUE(sheet_of(site, site.nodes[0]));
  EXPECT_EQ(sheet_of(site, site.nodes[0])->fields.size(), 1u);
}

TEST(Starter, TakesAnyName) {
  EXPECT_EQ(flawless(starter_files("a \"b\" \\ c")).name, "a \"b\" \\ c");
  EXPECT_EQ(flawless(starter_files(" line\none ")).name, "lineone");
  EXPECT_EQ(flawless(starter_files("Käserei")).name, "Käserei");
  EXPECT_EQ(flawless(starter_files("")).name, "my site");
  EXPECT_EQ(flawless(starter_files("\xFF\xFE")).name, "my site");
  EXPECT_EQ(flawless(starter_files(std::string(65, 'x'))).name, "my site");
  EXPECT_EQ(flawless(starter_files("@NAME@")).name, "@NAME@");
}

TEST(Demo, LoadsWithoutAWarningAndSaysThatItIsInvented) {
  const fleet::Site site = flawless(demo_files());
  EXPECT_EQ(site.name, "Tarn Dairy");
  EXPECT_TRUE(site.invented);
  EXPECT_EQ(site.timezone, "Europe/London");
  EXPECT_EQ(site.receivers.size(), 2u);
  EXPECT_EQ(site.nodes.size(), 14u);
}

TEST(Demo, EveryNodeHasTheFactsThatAJudgeWants) {
  const fleet::Site site = flawless(demo_files());
  for (const fleet::Node& node : site.nodes) {
    ASSERT_TRUE(node.address) << node.name;
    EXPECT_TRUE(node.address->locally_administered()) << node.name;
    EXPECT_TRUE(node.card.interval) << node.name;
    EXPECT_TRUE(need_of(site, node)) << node.name;
    const fleet::NodeSheet* sheet = sheet_of(site, node);
    ASSERT_TRUE(sheet) << node.name;
    EXPECT_TRUE(sheet->head.invented) << node.name;
    EXPECT_TRUE(sheet->sequence.bits) << node.name;
    EXPECT_TRUE(sheet->sequence.starts_at) << node.name;
    EXPECT_TRUE(sheet->clock.tolerance_ppm) << node.name;
    EXPECT_TRUE(sheet->radio.sensitivity_dbm) << node.name;
    EXPECT_FALSE(sheet->fields.empty()) << node.name;
  }
  for (const fleet::Receiver& receiver : site.receivers) {
    const fleet::ReceiverSheet* sheet = sheet_of(site, receiver);
    ASSERT_TRUE(sheet) << receiver.name;
    EXPECT_TRUE(sheet->radio.sensitivity_dbm && sheet->radio.overload_dbm) << receiver.name;
  }
}

TEST(Demo, IsTheExampleOfTheRepository) {
  const std::string folder = FIELDFARE_SOURCE_DIR "/examples/tarn-dairy/";
  const auto files = demo_files();
  for (const NamedText& file : files) {
    std::ifstream in{folder + file.name, std::ios::binary};
    const std::string text{std::istreambuf_iterator<char>{in}, {}};
    EXPECT_EQ(file.text == text, true) << file.name;
  }
  const auto has = [&files](const std::string& name) {
    return std::any_of(files.begin(), files.end(),
                       [&name](const NamedText& file) { return file.name == name; });
  };
  EXPECT_TRUE(has("README.md"));
  EXPECT_TRUE(has("log/week-10.csv.gz"));
  const auto on_disk = read_site_folder(folder);
  ASSERT_TRUE(on_disk.has_value());
  EXPECT_EQ(on_disk->sheets.size(), as_site(files).sheets.size());
}

TEST(Demo, LogIsSmall) {
  const auto files = demo_files();
  const auto log = std::find_if(files.begin(), files.end(), [](const NamedText& file) {
    return file.name.starts_with("log/");
  });
  ASSERT_NE(log, files.end());
  EXPECT_LT(log->text.size(), 300'000u);
  EXPECT_EQ(log->text.substr(0, 3), std::string("\x1F\x8B\x08")) << "gzip (RFC 1952)";
}

}  // namespace
}  // namespace fieldfare::site
