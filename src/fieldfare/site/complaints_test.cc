// SPDX-License-Identifier: Apache-2.0
// What people are told about each mistake, to the letter.
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fieldfare/site/load.h"

namespace fieldfare::site {
namespace {

using Lines = std::vector<std::string>;

Lines texts(const std::vector<Complaint>& complaints) {
  Lines result;
  for (const Complaint& each : complaints) result.push_back(each.text());
  return result;
}

Lines errors_of(const SiteFiles& files) {
  const auto loaded = load_site(files);
  return loaded ? Lines{} : texts(loaded.error());
}

Lines errors_of_site(const std::string& text) { return errors_of({"", text, {}}); }

constexpr const char* kSite = "[site]\nname = \"Tarn Dairy\"\ninvented = true\n";

/// Errors of `text` behind a sound [site] of three lines.
Lines errors_after_head(const std::string& text) { return errors_of_site(kSite + text); }

Lines warnings_after_head(const std::string& text) {
  const auto loaded = load_site({"", kSite + text, {}});
  return loaded ? texts(loaded->warnings) : texts(loaded.error());
}

Lines errors_of_sheet(const std::string& text) {
  return errors_of({"", kSite, {{"sheets/x.toml", text}}});
}

/// Errors of `text` behind a sound [sheet] of three lines.
Lines errors_of_node_sheet(const std::string& text) {
  return errors_of_sheet("[sheet]\nname = \"probe\"\nkind = \"node\"\n" + text);
}

struct Row {
  const char* text;
  const char* complaint;
};

class SiteMistake : public testing::TestWithParam<Row> {};

TEST_P(SiteMistake, IsToldWithPlaceAndRemedy) {
  EXPECT_EQ(errors_after_head(GetParam().text), Lines{GetParam().complaint});
}

const Row kSiteMistakes[] = {
    {"nmae = 3", "site.toml:4:1: unknown key \"nmae\" in [site]; did you mean `name`?"},
    {"colour = 3",
     "site.toml:4:1: unknown key \"colour\" in [site]; expected one of `name`, `invented`, "
     "`timezone`"},
    {"timezone = \"Europe London\"",
     "site.toml:4:12: `timezone` is \"Europe London\"; expected an IANA name such as "
     "\"Europe/London\""},
    {"region = \"eu-868\"",
     "site.toml:4:1: `region` is not supported by this version; leave it out"},
    {"[[wall]]\npath = []", "site.toml:4:3: `wall` is not supported by this version; leave it out"},
    {"[[nodes]]", "site.toml:4:3: unknown key \"nodes\" in site.toml; did you mean `node`?"},
    {"[node]\nname = \"a\"",
     "site.toml:4:1: `node` is a table; expected an array of tables, each begun by `[[node]]`"},
    {"[proof]\nalpha = \"low\"",
     "site.toml:5:9: `alpha` is \"low\"; expected a number from 0.0001 to 0.4"},
    {"[proof]\nmargin_db = 61",
     "site.toml:5:13: `margin_db` is 61; expected a number in dB from 0 to 60"},
    {"[proof]\nmargin_db = nan",
     "site.toml:5:13: `margin_db` is nan; expected a number in dB from 0 to 60"},
    {"[proof]\ndelivery_bad = 0.98",
     "site.toml:5:16: `delivery_bad` is 0.98, not below `delivery_good` 0.97; expected a share "
     "that "
     "fails to be less than one that passes"},
    {"[proof]\nsoak = \"2 days\"",
     "site.toml:5:8: `soak` is \"2 days\"; expected a duration such as \"90 s\" or \"10 min\", or "
     "`soak_s` as a number, from 60 to 31557600 s"},
    {"[proof]\nsoak = 90",
     "site.toml:5:8: `soak` is 90; expected a duration such as \"90 s\" or \"10 min\", or `soak_s` "
     "as a number, from 60 to 31557600 s"},
    {"[proof]\nsoak_s = 1e300",
     "site.toml:5:10: `soak_s` is 1e+300; expected a duration such as \"90 s\" or \"10 min\", or "
     "`soak_s` as a number, from 60 to 31557600 s"},
    {"[proof]\nsoak = \"2 d\"\nsoak_s = 90",
     "site.toml:6:1: `soak` is given already; expected `soak` or `soak_s`, not both"},
    {"[need]\nripening = 3",
     "site.toml:5:12: `need` is 3; expected tables with a name each, begun by `[need.NAME]`"},
    {"[need.\" x\"]\nlife = \"1 y\"",
     "site.toml:4:7: \" x\" can't be the name of a need; expected 1 to 64 characters and 128 "
     "bytes, with no "
     "blank "
     "at either end"},
    {"[need.x]\nair_temperature_c = [14, 9]",
     "site.toml:5:21: `air_temperature_c` is [14, 9]; expected [low, high], two rising numbers in "
     "°C from -90 to 150"},
    {"[radio]\npan_id = \"0xFFFF\"",
     "site.toml:5:10: `pan_id` is \"0xFFFF\"; expected \"0x0000\" to \"0xFFFE\""},
    {"[radio]\npan_id = 0x10000",
     "site.toml:5:10: `pan_id` is 65536; expected \"0x0000\" to \"0xFFFE\""},
    {"[radio]\nchannel = -1",
     "site.toml:5:11: `channel` is -1; expected a whole number from 0 to 255"},
    {"[radio]\nkey = \"site\"",
     "site.toml:5:1: `key` is not supported by this version; leave it out"},
    {"[[receiver]]\nname = \"a\"\nsource = \"serial:///dev/x?baud=fast\"",
     "site.toml:6:32: `source`: not a number in range; expected 50 to 4000000"},
    {"[[receiver]]\nname = \"a\"\nsource = \"seral:///dev/x\"",
     "site.toml:6:11: `source`: no kind of source is called `seral`; did you mean `serial`?"},
    {"[[receiver]]\nsource = \"file:x\"",
     "site.toml:4:1: `name` is missing in [[receiver]]; expected a name of 1 to 64 characters and "
     "128 bytes, "
     "with "
     "no blank at either end"},
    {"[[receiver]]\nname = \"a\"\n[[receiver]]\nname = \"a\"",
     "site.toml:7:8: the name \"a\" is that of the receiver on line 5; expected a name that no "
     "other "
     "receiver has"},
    {"[[receiver]]\nname = \"a\"\nsheet = \"generic-reciever-868\"",
     "site.toml:6:9: there is no receiver sheet \"generic-reciever-868\"; did you mean "
     "`generic-receiver-868`?"},
    {"[[node]]\nname = \"a\"\naddress = 12",
     "site.toml:6:11: `address` is 12; expected 1 to 16 hex digits, as on the label"},
    {"[[node]]\nname = \"a\"\naddress = \"02:4D:21:00:00:00:5C:EZ\"",
     "site.toml:6:11: `address` is \"02:4D:21:00:00:00:5C:EZ\"; expected 1 to 16 hex digits, as on "
     "the label"},
    {"[[node]]\nname = \"a\"\naddress = \"02:5C\"\n[[node]]\nname = \"b\"\naddress = \"025c\"",
     "site.toml:9:11: the address 025C is that of the node on line 6; expected the address on this "
     "node's own label"},
    {"[[node]]\nname = \"hall\"\n[[node]]\nname = \"hall\"",
     "site.toml:7:8: the name \"hall\" is that of the node on line 5; expected a name that no "
     "other "
     "node has"},
    {"[[node]]\nname = \"hall\"\nsheet = \"generic-686\"",
     "site.toml:6:9: there is no node sheet \"generic-686\"; did you mean `generic-868`?"},
    {"[need.ripening]\n[[node]]\nname = \"hall\"\nneed = \"ripenin\"",
     "site.toml:7:8: there is no need \"ripenin\"; did you mean `ripening`?"},
    {"[[node]]\nname = \"hall\"\nneed = \"ripening\"",
     "site.toml:6:8: there is no need \"ripening\"; none is known"},
    {"[[node]]\nname = \"hall\"\nmounting = \"wet wal\"",
     "site.toml:6:12: `mounting` is \"wet wal\"; did you mean `wet wall`?"},
    {"[[node]]\nname = \"hall\"\nat_m = [1, 2]",
     "site.toml:6:8: `at_m` is [1, 2]; expected [x, y, z], three numbers in m from -100000 to "
     "100000"},
    {"[[node]]\nname = \"hall\"\nat_m = [1, 2, \"up\"]",
     "site.toml:6:15: `at_m` is [1, 2, \"up\"]; expected [x, y, z], three numbers in m from "
     "-100000 "
     "to 100000"},
    {"[[node]]\nname = \"hall\"\ncard = \"7 min\"",
     "site.toml:6:8: `card` is \"7 min\"; expected a table { … }"},
    {"[[node]]\nname = \"hall\"\ncard = { intervall = 3 }",
     "site.toml:6:10: unknown key \"intervall\" in card; did you mean `interval`?"},
    {"[[node]]\nname = \"hall\"\ncells_fitted = \"2026-03-02\"",
     "site.toml:6:16: `cells_fitted` is \"2026-03-02\"; expected a date such as 2026-03-02"},
    {"[[node]]\nname = \"hall\"\ncells_fitted = 2026-03-02T12:00:00Z",
     "site.toml:6:16: `cells_fitted` is a time of day; expected a date such as 2026-03-02"},
    {"[[node]]\nname = \"hall \"",
     "site.toml:5:8: `name` is \"hall \"; expected a name of 1 to 64 characters and 128 bytes, "
     "with no blank at "
     "either end"},
    {"[[node]]\nname = \"\"",
     "site.toml:5:8: `name` is \"\"; expected a name of 1 to 64 characters and 128 bytes, with no "
     "blank at "
     "either "
     "end"},
    {"[[node]]\nname = \"hall\"\nantenna = { axis = \"vertical\" }",
     "site.toml:6:1: `antenna` is not supported by this version; leave it out"},
};
INSTANTIATE_TEST_SUITE_P(Each, SiteMistake, testing::ValuesIn(kSiteMistakes));

class SheetMistake : public testing::TestWithParam<Row> {};

TEST_P(SheetMistake, IsToldWithPlaceAndRemedy) {
  EXPECT_EQ(errors_of_node_sheet(GetParam().text), Lines{GetParam().complaint});
}

const Row kSheetMistakes[] = {
    {"[radio]\nsensitivity_dbm = 104",
     "sheets/x.toml:5:19: `sensitivity_dbm` is 104; expected a number in dBm from -170 to -20"},
    {"[radio]\nsensitivity = -104",
     "sheets/x.toml:5:1: unknown key \"sensitivity\" in [radio]; did you mean `sensitivity_dbm`?"},
    {"[radio]\nsensitivity_dbm = -50\noverload_dbm = -60",
     "sheets/x.toml:6:16: `overload_dbm` is -60, not above `sensitivity_dbm` -50; expected the "
     "strongest signal to be stronger than the weakest"},
    {"[radio]\nband_mhz = [868.6, 868]",
     "sheets/x.toml:5:12: `band_mhz` is [868.6, 868]; expected [low, high], two rising numbers in "
     "MHz from 1 to 100000"},
    {"[radio]\ncrc_bytes = 2.5",
     "sheets/x.toml:5:13: `crc_bytes` is 2.5; expected a whole number in bytes from 0 to 8"},
    {"[radio]\nphy = \"fm\"",
     "sheets/x.toml:5:7: `phy` is \"fm\"; expected `fsk`, `gfsk`, `oqpsk-250`, `oqpsk-100`, "
     "`bpsk-20`, `bpsk-40` or `css`"},
    {"[radio]\naccess = \"cmsa\"",
     "sheets/x.toml:5:10: `access` is \"cmsa\"; did you mean `csma`?"},
    {"[radio]\nacknowledged = 1",
     "sheets/x.toml:5:16: `acknowledged` is 1; expected true or false"},
    {"[radio]\ntx_dbm = { allowed = [2, 8], default = 5 }",
     "sheets/x.toml:5:40: `default` is 5, which is not in `allowed`; expected one of the allowed "
     "powers"},
    {"[radio]\ntx_dbm = { allowed = [], default = 5 }",
     "sheets/x.toml:5:22: `allowed` is []; expected a list of numbers in dBm from -60 to 40"},
    {"[radio]\nretries = { min = 3, max = 4, default = 2 }",
     "sheets/x.toml:5:41: `default` is 2, not from `min` 3 to `max` 4; expected min <= default <= "
     "max"},
    {"[radio]\nhopping = { channels = 50, dwell = \"2 min\" }",
     "sheets/x.toml:5:36: `dwell` is \"2 min\"; expected a duration such as \"90 s\" or \"10 "
     "min\", "
     "or `dwell_s` as a number, from 0.001 to 60 s"},
    {"[reporting]\nkinds = [\"often\"]",
     "sheets/x.toml:5:10: `kinds` is [\"often\"]; expected a list of `periodic`, `on change` or "
     "`heartbeat`"},
    {"[energy]\ncells = { type = \"FR-6\" }",
     "sheets/x.toml:5:18: there is no cell sheet \"FR-6\"; did you mean `FR6`?"},
    {"[[energy.phase]]\nwhat = \"wake\"\nms = 3",
     "sheets/x.toml:4:1: neither `ma` nor `ma_at_dbm` is given; expected one of `ma` and "
     "`ma_at_dbm`"},
    {"[[energy.phase]]\nwhat = \"wake\"\nms = 3\nma = 3\nma_at_dbm = { 2 = 3 }",
     "sheets/x.toml:8:13: `ma` is given already; expected one of `ma` and `ma_at_dbm`"},
    {"[[energy.phase]]\nwhat = \"wake\"\nms = 3\nma_at_dbm = { two = 3 }",
     "sheets/x.toml:7:15: `ma_at_dbm` is a table; expected `{ number = number, … }` with values in "
     "mA from 0 to 10000"},
    {"[[energy.phase]]\nwhat = \"wake\"\nms = \"air\"\nma = 3",
     "sheets/x.toml:6:6: `ms` is \"air\"; expected a number in ms from 0 to 3600000, or "
     "`air-time`"},
    {"[clock]\ntolerance_pct = 5\ntolerance_ppm = 5",
     "sheets/x.toml:6:17: `tolerance_pct` is given already; expected `tolerance_pct` or "
     "`tolerance_ppm`, not both"},
    {"[sequence]\nbits = 8\nstarts_at = 256",
     "sheets/x.toml:6:13: `starts_at` is 256, which a counter of 8 bits can't hold; expected a "
     "number below 2^8"},
    {"[sequence]\nbits = 33",
     "sheets/x.toml:5:8: `bits` is 33; expected a whole number in bits from 1 to 32"},
    {"[field.Temperature_c]\naccuracy = 1",
     "sheets/x.toml:4:8: \"Temperature_c\" can't be the name of a field; expected lower-case "
     "letters, digits and `_`, ending in the unit, and no other column of logs"},
    {"[field.rssi_dbm]\naccuracy = 1",
     "sheets/x.toml:4:8: \"rssi_dbm\" can't be the name of a field; expected lower-case letters, "
     "digits and `_`, ending in the unit, and no other column of logs"},
    {"[settings.interval]\nmin = 5",
     "sheets/x.toml:4:2: `settings` is not supported by this version; leave it out"},
};
INSTANTIATE_TEST_SUITE_P(Each, SheetMistake, testing::ValuesIn(kSheetMistakes));

TEST(Complaints, OfASheetThatDoesNotSayWhatItIs) {
  EXPECT_EQ(errors_of_sheet("x = 1"),
            Lines{"sheets/x.toml: the sheet does not say what it is about; expected `kind` in "
                  "`[sheet]` to be \"node\", \"receiver\" or \"cell\""});
  EXPECT_EQ(errors_of_sheet("[sheet]\nname = \"x\""),
            Lines{"sheets/x.toml:1:1: the sheet does not say what it is about; expected `kind` in "
                  "`[sheet]` to be \"node\", \"receiver\" or \"cell\""});
  EXPECT_EQ(errors_of_sheet("[sheet]\nname = \"x\"\nkind = \"nodes\""),
            Lines{"sheets/x.toml:3:8: `kind` is \"nodes\"; expected `kind` in `[sheet]` to be "
                  "\"node\", \"receiver\" or \"cell\""});
}

TEST(Complaints, OfAReceiverSheetWithAKeyOfNodes) {
  EXPECT_EQ(errors_of_sheet("[sheet]\nname = \"x\"\nkind = \"receiver\"\n[clock]\ntick_s = 1"),
            Lines{"sheets/x.toml:4:2: unknown key \"clock\" in a receiver sheet; expected one of "
                  "`sheet`, `radio`, `frame`"});
}

TEST(Complaints, OfASiteWithoutAName) {
  EXPECT_EQ(errors_of_site(""),
            Lines{"site.toml: `site` is missing in site.toml; expected the table `[site]`"});
  EXPECT_EQ(errors_of_site("[site]"),
            Lines{"site.toml:1:1: `name` is missing in [site]; expected a name of 1 to 64 "
                  "characters and 128 bytes, with no blank at either end"});
}

std::string node_called(const std::string& letter, int times) {
  std::string name;
  for (int i = 0; i < times; ++i) name += letter;
  return "[[node]]\nname = \"" + name + "\"";
}

TEST(Complaints, OfNamesTooLongForLogsToo) {
  EXPECT_EQ(errors_after_head(node_called("x", 64)), Lines{});
  EXPECT_EQ(errors_after_head(node_called("é", 64)), Lines{});
  EXPECT_EQ(errors_after_head(node_called("x", 65)).size(), 1u);
  EXPECT_EQ(errors_after_head(node_called("€", 42)), Lines{});
  EXPECT_EQ(
      errors_after_head(node_called("€", 43)),
      Lines{"site.toml:5:8: `name` is \"€€€€€€€€€€€€€…\"; expected a name of 1 to 64 characters "
            "and 128 bytes, with no blank at either end"});
}

TEST(Complaints, OfTwoSheetsOfOneName) {
  const std::string sheet = "[sheet]\nname = \"x\"\nkind = \"node\"\n";
  EXPECT_EQ(
      errors_of({"dairy", kSite, {{"sheets/a.toml", sheet}, {"sheets/b.toml", sheet}}}),
      Lines{"dairy/sheets/b.toml:2:8: the node sheet \"x\" is in dairy/sheets/a.toml already; "
            "expected a name that no other node sheet has"});
}

TEST(Complaints, OfWhatIsNoToml) {
  EXPECT_EQ(errors_of_site("[site\nname = 3"),
            Lines{"site.toml:1:6: Error while parsing table header: expected ']', saw '\\n'; "
                  "expected TOML 1.0"});
  const Lines twice = errors_of_site("[site]\nname = \"a\"\nname = \"b\"");
  ASSERT_EQ(twice.size(), 1u);
  EXPECT_TRUE(twice[0].starts_with("site.toml:3:")) << twice[0];
  const Lines date = errors_after_head("[[node]]\nname = \"a\"\ncells_fitted = 2026-02-30");
  ASSERT_EQ(date.size(), 1u);
  EXPECT_TRUE(date[0].starts_with("site.toml:6:")) << date[0];
}

TEST(Complaints, AreAllToldAndInOrder) {
  const SiteFiles files{"dairy/",
                        "[[node]]\nadress = \"02\"\nname = 7\n[site]\nname = \"x\"\nzone = 1\n",
                        {{"sheets/a.toml",
                          "[sheet]\nname = \"a\"\nkind = \"node\"\n[clock]\ntick_s = -1\n"
                          "[energy]\ncells = { type = \"AA\" }\n"},
                         {"sheets/b.toml", "not toml"}}};
  const Lines errors = errors_of(files);
  ASSERT_EQ(errors.size(), 6u);
  EXPECT_TRUE(errors[0].starts_with("dairy/sheets/a.toml:5:10: ")) << errors[0];
  EXPECT_TRUE(errors[1].starts_with("dairy/sheets/a.toml:7:18: ")) << errors[1];
  EXPECT_TRUE(errors[2].starts_with("dairy/sheets/b.toml:1:")) << errors[2];
  EXPECT_TRUE(errors[3].starts_with("dairy/site.toml:2:1: ")) << errors[3];
  EXPECT_TRUE(errors[4].starts_with("dairy/site.toml:3:8: ")) << errors[4];
  EXPECT_TRUE(errors[5].starts_with("dairy/site.toml:6:1: ")) << errors[5];
}

TEST(Complaints, PastAHundredAreOnlyCounted) {
  std::string text = kSite;
  for (int i = 0; i < 250; ++i) text += "k" + std::to_string(i) + " = 1\n";
  const Lines errors = errors_of_site(text);
  ASSERT_EQ(errors.size(), 101u);
  EXPECT_EQ(errors.back(), "and 150 more");
}

TEST(Warnings, OfAnInventedSiteWhoseAddressMayBeSomebodys) {
  EXPECT_EQ(
      warnings_after_head("[[node]]\nname = \"hall\"\naddress = \"00:4D:21:00:00:00:5C:E7\""),
      Lines{"site.toml:6:11: the address 004D210000005CE7 of an invented site may be somebody's "
            "device; better a locally administered one, such as 02:00:…"});
  EXPECT_EQ(warnings_after_head("[[node]]\nname = \"hall\"\naddress = \"5CE7\""), Lines{})
      << "a short address has no such bit";
  const auto real = load_site(
      {"", "[site]\nname = \"x\"\n[[node]]\nname = \"hall\"\naddress = \"004D210000005CE7\"", {}});
  ASSERT_TRUE(real.has_value());
  EXPECT_TRUE(real->warnings.empty()) << "a site that exists has the addresses that it has";
}

TEST(Warnings, OfANameThatReadsAsAnAddress) {
  EXPECT_EQ(
      warnings_after_head("[[node]]\nname = \"cafe\"\naddress = \"02:5C\""),
      Lines{"site.toml:5:8: the name \"cafe\" reads as an address: in logs it always means this "
            "node; better a name with a letter past f"});
  EXPECT_EQ(warnings_after_head("[[node]]\nname = \"025C\"\naddress = \"02:5C\""), Lines{})
      << "its own address can mean nobody else";
}

TEST(Warnings, OfAnIntervalThatCanNeverMeetTheNeed) {
  EXPECT_EQ(
      warnings_after_head("[need.x]\nfresh_within = \"10 min\"\n[[node]]\nname = \"hall\"\n"
                          "need = \"x\"\ncard = { interval = \"15 min\" }"),
      Lines{"site.toml:9:21: the interval of 900 s is longer than readings for the need \"x\" "
            "may be old (600 s); a shorter interval would meet the need"});
}

}  // namespace
}  // namespace fieldfare::site
