// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/load.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace fieldfare::site {
namespace {

constexpr const char* kSite = "[site]\nname = \"Tarn Dairy\"\ninvented = true\n";

TEST(LoadSite, TakesAsLittleAsAName) {
  const auto loaded = load_site({"", "site.name = \"here\"", {}});
  ASSERT_TRUE(loaded.has_value());
  EXPECT_EQ(loaded->site.name, "here");
  EXPECT_FALSE(loaded->site.invented);
  EXPECT_EQ(loaded->site.timezone, "UTC");
  EXPECT_EQ(loaded->site.proof.margin_db, 10);
  EXPECT_EQ(loaded->site.proof.soak, (Duration{172'800'000'000'000}));
  EXPECT_TRUE(loaded->site.nodes.empty());
  EXPECT_FALSE(loaded->site.cell_sheets.empty()) << "those built in";
}

TEST(LoadSite, ReadsEveryFactOfASite) {
  const auto loaded = load_site({"",
                                 R"(
[site]
name = "Tarn Dairy"
timezone = "Europe/London"
[radio]
channel = 3
pan_id = "0x4D21"
[need.ripening]
fresh_within = "40 min"
fresh_probability = 0.95
life = "5 y"
air_temperature_c = [9, 14.5]
[proof]
delivery_good = 0.98
delivery_bad = 0.9
alpha = 0.01
beta = 0.02
soak_s = 3600
margin_db = 12
[[receiver]]
name = "office"
sheet = "generic-receiver-868"
source = "serial:///dev/ttyUSB0"
at_m = [12.0, 4, -2.5]
[[node]]
name = "cave 1"
address = "02-4d-21-00-00-00-5c-e7"
sheet = "generic-868"
need = "ripening"
mounting = "wet wall"
card = { interval = "7 min" }
cells_fitted = 2026-03-02
[[node]]
name = "by name alone"
)",
                                 {}});
  ASSERT_TRUE(loaded.has_value());
  const fleet::Site& site = loaded->site;
  EXPECT_EQ(site.timezone, "Europe/London");
  EXPECT_EQ(site.channel, 3);
  EXPECT_EQ(site.pan_id, 0x4D21);
  ASSERT_EQ(site.needs.size(), 1u);
  EXPECT_EQ(site.needs[0].name, "ripening");
  EXPECT_EQ(site.needs[0].fresh_within, Duration::seconds(2400));
  EXPECT_EQ(site.needs[0].fresh_probability, 0.95);
  EXPECT_EQ(site.needs[0].life, Duration::seconds(5 * 365.25 * 86400));
  EXPECT_EQ(site.needs[0].air_temperature_c, (fleet::Range{9, 14.5}));
  EXPECT_EQ(site.proof.delivery_good, 0.98);
  EXPECT_EQ(site.proof.delivery_bad, 0.9);
  EXPECT_EQ(site.proof.alpha, 0.01);
  EXPECT_EQ(site.proof.beta, 0.02);
  EXPECT_EQ(site.proof.soak, Duration::seconds(3600));
  EXPECT_EQ(site.proof.margin_db, 12);
  ASSERT_EQ(site.receivers.size(), 1u);
  EXPECT_EQ(site.receivers[0].source, "serial:///dev/ttyUSB0");
  EXPECT_EQ(site.receivers[0].at_m, (fleet::Position{12, 4, -2.5}));
  ASSERT_TRUE(sheet_of(site, site.receivers[0]));
  EXPECT_EQ(sheet_of(site, site.receivers[0])->radio.sensitivity_dbm, -106);
  EXPECT_EQ(find_receiver(site, "office"), site.receivers.data());
  EXPECT_EQ(find_receiver(site, "Office"), nullptr);
  ASSERT_EQ(site.nodes.size(), 2u);
  const fleet::Node& node = site.nodes[0];
  EXPECT_EQ(node.address, parse_address("024D210000005CE7"));
  ASSERT_TRUE(sheet_of(site, node));
  EXPECT_EQ(sheet_of(site, node)->head.name, "generic-868");
  ASSERT_TRUE(need_of(site, node));
  EXPECT_EQ(need_of(site, node)->name, "ripening");
  EXPECT_EQ(node.mounting, "wet wall");
  EXPECT_EQ(node.card.interval, Duration::seconds(420));
  EXPECT_EQ(node.cells_fitted, std::chrono::year{2026} / 3 / 2);
  EXPECT_FALSE(site.nodes[1].address);
  EXPECT_EQ(sheet_of(site, site.nodes[1]), nullptr);
  EXPECT_EQ(need_of(site, site.nodes[1]), nullptr);
}

void expect_head_and_radio(const fleet::NodeSheet& sheet) {
  EXPECT_TRUE(sheet.head.invented);
  EXPECT_EQ(sheet.head.source, "made up");
  const fleet::RadioFacts& radio = sheet.radio;
  EXPECT_EQ(radio.band_mhz, (fleet::Range{868.0, 868.6}));
  EXPECT_EQ(radio.phy, "gfsk");
  EXPECT_EQ(radio.bitrate_bps, 50000);
  EXPECT_EQ(radio.bandwidth_hz, 150000);
  EXPECT_EQ(radio.preamble_bytes, 5);
  EXPECT_EQ(radio.sync_bytes, 3);
  EXPECT_EQ(radio.crc_bytes, 2);
  EXPECT_EQ(radio.overhead_bytes, 18);
  ASSERT_TRUE(radio.tx_dbm);
  EXPECT_EQ(radio.tx_dbm->allowed_dbm, (std::vector<double>{2, 8, 14}));
  EXPECT_EQ(radio.tx_dbm->default_dbm, 14);
  EXPECT_EQ(radio.antenna_gain_dbi, 1.5);
  EXPECT_EQ(radio.sensitivity_dbm, -104);
  EXPECT_EQ(radio.overload_dbm, -12);
  EXPECT_FALSE(radio.needs_antenna_to_transmit);
  EXPECT_EQ(radio.acknowledged, true);
  ASSERT_TRUE(radio.retries);
  EXPECT_EQ(radio.retries->min, 0);
  EXPECT_EQ(radio.retries->max, 7);
  EXPECT_EQ(radio.retries->as_delivered, 2);
  EXPECT_EQ(radio.access, fleet::Access::csma);
  ASSERT_TRUE(radio.hopping);
  EXPECT_EQ(radio.hopping->channels, 50);
  EXPECT_EQ(radio.hopping->dwell, Duration{400'000'000});
}

void expect_the_rest(const fleet::NodeSheet& sheet) {
  EXPECT_EQ(sheet.reporting.kinds, (std::vector<fleet::ReportKind>{fleet::ReportKind::on_change,
                                                                   fleet::ReportKind::heartbeat}));
  EXPECT_EQ(sheet.reporting.events_per_day, 40);
  const fleet::EnergyFacts& energy = sheet.energy;
  ASSERT_TRUE(energy.cells);
  EXPECT_EQ(energy.cells->type, "FR6");
  EXPECT_EQ(energy.cells->series, 2);
  EXPECT_EQ(energy.cells->parallel, 1);
  EXPECT_EQ(energy.sleep_ua, 6.5);
  EXPECT_EQ(energy.cutoff_v, 2.1);
  EXPECT_EQ(energy.start_pulse_ma, 60);
  ASSERT_EQ(energy.phases.size(), 2u);
  EXPECT_EQ(energy.phases[0].what, "wake");
  EXPECT_EQ(std::get<double>(energy.phases[0].ma), 4.1);
  EXPECT_EQ(std::get<double>(energy.phases[0].ms), 240);
  using Pairs = std::vector<std::pair<double, double>>;
  EXPECT_EQ(std::get<Pairs>(energy.phases[1].ma), (Pairs{{-2.5, 17}, {14, 43}}));
  EXPECT_TRUE(std::holds_alternative<fleet::AirTime>(energy.phases[1].ms));
  EXPECT_EQ(sheet.clock.tolerance_ppm, 50000) << "5 %";
  EXPECT_EQ(sheet.clock.tick_s, 1);
  EXPECT_EQ(sheet.sequence.bits, 8);
  EXPECT_EQ(sheet.sequence.starts_at, 1u);
  EXPECT_FALSE(sheet.sequence.restarts_on_reset);
  ASSERT_EQ(sheet.fields.size(), 1u);
  EXPECT_EQ(sheet.fields[0].name, "temperature_c");
  EXPECT_EQ(sheet.fields[0].plausible, (fleet::Range{-40, 85}));
  EXPECT_EQ(sheet.fields[0].resolution, 0.01);
  EXPECT_EQ(sheet.fields[0].accuracy, 0.3);
  EXPECT_EQ(sheet.fields[0].max_rate_per_min, 2.0);
}

TEST(LoadSite, ReadsEveryFactOfANodeSheet) {
  const auto loaded = load_site({"", kSite, {{"sheets/probe.toml", R"(
[sheet]
name = "probe"
kind = "node"
invented = true
source = "made up"
[radio]
band_mhz = [868.0, 868.6]
phy = "gfsk"
bitrate_bps = 50000
bandwidth_hz = 150000
preamble_bytes = 5
sync_bytes = 3
crc_bytes = 2
overhead_bytes = 18
tx_dbm = { allowed = [2, 8, 14], default = 14 }
antenna_gain_dbi = 1.5
sensitivity_dbm = -104
overload_dbm = -12
needs_antenna_to_transmit = false
acknowledged = true
retries = { min = 0, max = 7, default = 2 }
access = "csma"
hopping = { channels = 50, dwell = "400 ms" }
[reporting]
kinds = ["on change", "heartbeat"]
events_per_day = 40
[energy]
cells = { type = "FR6", series = 2 }
sleep_ua = 6.5
cutoff_v = 2.1
start_pulse_ma = 60
[[energy.phase]]
what = "wake"
ma = 4.1
ms = 240
[[energy.phase]]
what = "transmit"
ma_at_dbm = { 14 = 43, "-2.5" = 17 }
ms = "air-time"
[clock]
tolerance_pct = 5
tick_s = 1
[sequence]
bits = 8
starts_at = 1
restarts_on_reset = false
[field.temperature_c]
plausible = [-40, 85]
resolution = 0.01
accuracy = 0.3
max_rate_per_min = 2.0
)"}}});
  ASSERT_TRUE(loaded.has_value());
  const auto& sheets = loaded->site.node_sheets;
  const auto found = std::find_if(sheets.begin(), sheets.end(), [](const fleet::NodeSheet& each) {
    return each.head.name == "probe";
  });
  ASSERT_NE(found, sheets.end());
  expect_head_and_radio(*found);
  expect_the_rest(*found);
}

TEST(LoadSite, ReadsAReceiverSheetAndACellSheet) {
  const auto loaded = load_site(
      {"",
       kSite,
       {{"sheets/a.toml",
         "[sheet]\nname = \"desk\"\nkind = \"receiver\"\n[radio]\nsensitivity_dbm = -107.5\n"},
        {"sheets/b.toml",
         "[sheet]\nname = \"D1\"\nkind = \"cell\"\n[cell]\nchemistry = \"dry\"\nnominal_v = 1.5\n"
         "diameter_mm = 34.2\nheight_mm = 61.5\n"}}});
  ASSERT_TRUE(loaded.has_value());
  EXPECT_EQ(loaded->site.receiver_sheets.back().head.name, "desk");
  EXPECT_EQ(loaded->site.receiver_sheets.back().radio.sensitivity_dbm, -107.5);
  const fleet::CellSheet& cell = loaded->site.cell_sheets.back();
  EXPECT_EQ(cell.head.name, "D1");
  EXPECT_EQ(cell.chemistry, "dry");
  EXPECT_EQ(cell.nominal_v, 1.5);
  EXPECT_EQ(cell.diameter_mm, 34.2);
  EXPECT_EQ(cell.height_mm, 61.5);
}

TEST(LoadSite, ASheetOfTheSiteWinsOverOneBuiltIn) {
  const SiteFiles plain{"", kSite, {}};
  const SiteFiles own{"",
                      kSite,
                      {{"sheets/a.toml",
                        "[sheet]\nname = \"generic-868\"\nkind = \"node\"\n"
                        "[radio]\nsensitivity_dbm = -111\n"}}};
  const auto before = load_site(plain);
  const auto after = load_site(own);
  ASSERT_TRUE(before.has_value());
  ASSERT_TRUE(after.has_value());
  ASSERT_EQ(after->site.node_sheets.size(), before->site.node_sheets.size());
  int of_that_name = 0;
  for (const fleet::NodeSheet& sheet : after->site.node_sheets) {
    if (sheet.head.name != "generic-868") continue;
    ++of_that_name;
    EXPECT_EQ(sheet.radio.sensitivity_dbm, -111);
  }
  EXPECT_EQ(of_that_name, 1);
}

// The designations and voltages are those of IEC 60086-1 as quoted in public
// copies; E with its 3.6 V from memory. The heights are the last digits of the
// designation in tenths of a millimetre (same source).
TEST(LoadSite, KnowsCellsByTheirDesignation) {
  struct Row {
    const char* name;
    double nominal_v;
    std::optional<double> height_mm;
  };
  const Row rows[] = {{"LR6", 1.5, {}},    {"LR03", 1.5, {}},      {"FR6", 1.5, {}},
                      {"FR03", 1.5, {}},   {"ER14505", 3.6, 50.5}, {"CR17345", 3.0, 34.5},
                      {"CR2032", 3.0, 3.2}};
  const auto loaded = load_site({"", kSite, {}});
  ASSERT_TRUE(loaded.has_value());
  const auto& cells = loaded->site.cell_sheets;
  for (const Row& row : rows) {
    const auto found = std::find_if(cells.begin(), cells.end(), [&row](const auto& each) {
      return each.head.name == row.name;
    });
    ASSERT_NE(found, cells.end()) << row.name;
    EXPECT_EQ(found->nominal_v, row.nominal_v) << row.name;
    if (row.height_mm) {
      EXPECT_EQ(found->height_mm, row.height_mm) << row.name;
    }
    EXPECT_FALSE(found->head.source.empty()) << row.name;
  }
}

}  // namespace
}  // namespace fieldfare::site
