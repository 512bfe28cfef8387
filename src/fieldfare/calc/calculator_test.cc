// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/calc/calculator.h"

#include <gtest/gtest.h>

#include <algorithm>

namespace fieldfare::calc {
namespace {

using Arguments = std::vector<std::string>;

std::string error_of(std::string_view name, const Arguments& arguments) {
  const auto answer = calculate(name, arguments);
  EXPECT_FALSE(answer) << name;
  return answer ? std::string{} : answer.error();
}

void expect_error(std::string_view name, const Arguments& arguments, std::string_view part) {
  const std::string error = error_of(name, arguments);
  EXPECT_NE(error.find(part), std::string::npos) << error << "\nlacks: " << part;
}

Answer answer_of(std::string_view name, const Arguments& arguments) {
  const auto answer = calculate(name, arguments);
  EXPECT_TRUE(answer) << answer.error();
  return *answer;
}

bool notes_hold(const Answer& answer, std::string_view part) {
  return std::ranges::any_of(answer.notes, [part](const std::string& note) {
    return note.find(part) != std::string::npos;
  });
}

TEST(Calculate, ProposesTheNearestCalculator) {
  expect_error("wilsn", {}, "no calculator is called `wilsn`; did you mean `wilson`?");
  expect_error("Dew_Point", {}, "did you mean `dew-point`?");
  expect_error("xyzzy", {}, "`fieldfare calc` lists them all");
}

TEST(Calculate, NamesAnUnknownKeyAndProposesTheNearest) {
  expect_error("wilson", {"k=1", "n=2", "confidance=0.9"},
               "wilson has no key `confidance`; did you mean `confidence`? (keys: k n confidence)");
}

TEST(Calculate, NamesAMissingKeyAndWhatItMeans) {
  expect_error("wilson", {"k=1"}, "wilson needs `n`, the number of trials");
}

TEST(Calculate, RefusesAKeyGivenTwiceAndWhatIsNoKeyAtAll) {
  expect_error("wilson", {"k=1", "k=1", "n=2"}, "`k` is given twice");
  expect_error("wilson", {"81", "n=2"}, "`81` is not of the form key=value");
}

TEST(Calculate, NamesAValueOutsideThePhysicalRange) {
  expect_error("dew-point", {"t_c=20", "rh_pct=120"},
               "`rh_pct` must be a number above 0 to 100, not `120`");
  expect_error("dew-point", {"t_c=-300", "rh_pct=50"}, "`t_c` must be a number from -200 to 373.9");
  expect_error("wilson", {"k=1.5", "n=2"}, "`k` must be a whole number from 0 to 1e+09, not `1.5`");
  expect_error("wilson", {"k=3", "n=2"}, "`k` must not exceed `n`");
  expect_error("wilson", {"k=1", "n=2", "confidence=1"}, "above 0 and below 1");
  expect_error("wilson", {"k=nan", "n=2"}, "`k`");
  expect_error("ewma", {"x=1,2", "lambda=0", "start=0"}, "`lambda`");
  expect_error("loop-current", {"ma=-1", "low=0", "high=1"}, "`ma`");
  expect_error("standard-pressure", {"altitude_m=90000"}, "`altitude_m`");
  expect_error("clock-drift", {"ppm=20", "hours=-1"}, "`hours`");
}

TEST(Calculate, NamesWhatInputsTogetherLack) {
  expect_error("sprt", {"loss_good=0.2", "loss_bad=0.1"}, "`loss_good` must be below `loss_bad`");
  expect_error("sprt", {"loss_good=0.1", "loss_bad=0.2", "alpha=0.6", "beta=0.5"}, "add up");
  expect_error("fit-line", {"x=1,2,3", "y=1,2"}, "equally long, not 3 and 2");
  expect_error("fit-line", {"x=2,2,2", "y=1,2,3"}, "no slope");
  expect_error("theil-sen", {"x=2,2", "y=1,2"}, "no slope");
  expect_error("en-number", {"x=1", "u_x=0", "ref=1", "u_ref=0"}, "must not both be 0");
  expect_error("pt100", {}, "either `t_c` or `r_ohm`");
  expect_error("pt100", {"t_c=0", "r_ohm=100"}, "only one of them");
  expect_error("thermistor", {"r_ohm=1000", "a=0", "b=0", "c=0"}, "give no temperature");
  expect_error("loop-current", {"ma=12", "low=5", "high=5"}, "must differ");
  expect_error("unique-suffix", {"addresses=0201,0201"}, "one twice");
  expect_error("eui64-from-mac", {"mac=0201"}, "12 hex digits");
}

TEST(Calculate, ReadsSeriesWithBlanksAndRefusesHoles) {
  EXPECT_EQ(
      std::get<double>(answer_of("ewma", {"x=1, 2 ,3", "lambda=1", "start=0"}).result[0].second),
      3);
  expect_error("ewma", {"x=1,,3", "lambda=1", "start=0"}, "`x` must be numbers");
  expect_error("ewma", {"x=", "lambda=1", "start=0"}, "`x` must be numbers");
  expect_error("ewma", {"x=1,inf", "lambda=1", "start=0"}, "not `inf`");
  expect_error("grubbs", {"x=1,2"}, "`x` must hold 3 to 100000 numbers");
}

TEST(Calculate, RefusesSeriesThatAreTooLong) {
  std::string x = "x=0";
  for (std::size_t i = 0; i < kLongestSeries; ++i) x += ",0";
  expect_error("ewma", {x, "lambda=1", "start=0"}, "not 100001");
}

TEST(Calculate, ReadsHexWithSeparatorsAndRefusesTheRest) {
  const Answer answer = answer_of("crc", {"name=crc-8/smbus", "hex=31 32:33343536373839"});
  EXPECT_EQ(std::get<std::string>(answer.inputs[1].second), "313233343536373839");
  EXPECT_EQ(std::get<std::string>(answer.result[0].second), "F4");
  EXPECT_EQ(std::get<std::string>(answer_of("crc", {"name=CRC-8/SMBUS", "hex="}).inputs[0].second),
            "crc-8/smbus");
  expect_error("crc", {"name=crc-8/smbus", "hex=3"}, "none left over");
  expect_error("crc", {"name=crc-8/smbus", "hex=3g"}, "`hex` must be pairs of hex digits");
  expect_error("crc", {"name=crc-8/smbuss", "hex=00"}, "did you mean `crc-8/smbus`?");
  expect_error("frame", {"kind=cobs", "op=decode", "hex=0511"}, "`hex` is no cobs frame");
}

TEST(Calculate, FillsDefaultsInTheOrderOfTheKeys) {
  const Answer answer = answer_of("wilson", {"n=263", "k=81"});
  ASSERT_EQ(answer.inputs.size(), 3u);
  EXPECT_EQ(answer.inputs[0].first, "k");
  EXPECT_EQ(answer.inputs[2].first, "confidence");
  EXPECT_EQ(std::get<double>(answer.inputs[2].second), 0.95);
}

TEST(Calculate, AnswersOutsideTheSourcesRangeWithANote) {
  EXPECT_TRUE(notes_hold(answer_of("dew-point", {"t_c=80", "rh_pct=50"}), "-45 to 60"));
  EXPECT_FALSE(notes_hold(answer_of("dew-point", {"t_c=20", "rh_pct=50"}), "-45 to 60"));
  EXPECT_TRUE(notes_hold(answer_of("dew-point", {"t_c=-5", "rh_pct=50"}), "frost point"));
  EXPECT_TRUE(notes_hold(answer_of("pt100", {"t_c=900"}), "-200 to 850"));
  EXPECT_TRUE(notes_hold(answer_of("pt100", {"r_ohm=5"}), "-200 to 850"));
  EXPECT_TRUE(notes_hold(answer_of("soil-moisture-topp", {"permittivity=60"}), "3 to 40"));
  EXPECT_TRUE(notes_hold(answer_of("standard-pressure", {"altitude_m=-3000"}), "-2000 to 80000"));
}

TEST(Calculate, GrubbsSaysWhichValueOrNone) {
  const auto outlier = [](const char* x) { return answer_of("grubbs", {x}).result[2].second; };
  EXPECT_EQ(std::get<double>(outlier("x=1,2,3,2,1,2,-90,3")), -90);
  EXPECT_TRUE(std::holds_alternative<std::monostate>(outlier("x=1,2,3,2,1,2,3")));
  EXPECT_TRUE(notes_hold(answer_of("grubbs", {"x=1,2,3,2,1,2,3,9"}), "2.0316520"));
}

TEST(Calculate, SprtGivesTheExactNumbersBesideTheApproximation) {
  const Answer answer = answer_of("sprt", {"loss_good=0.05", "loss_bad=0.1"});
  // The recursion is held to an independent one beside its own code.
  EXPECT_TRUE(notes_hold(answer, "163.4431 and 140.0815 reports, risks 0.0395 and 0.0491"));
  const Answer endless = answer_of("sprt", {"loss_good=0.05", "loss_bad=0.0500001"});
  EXPECT_TRUE(notes_hold(endless, "too long to be followed"));
}

TEST(Calculate, AFailedLoopCarriesNoValue) {
  const Answer answer = answer_of("loop-current", {"ma=3.5", "low=0", "high=100"});
  EXPECT_TRUE(std::holds_alternative<std::monostate>(answer.result[0].second));
  EXPECT_EQ(std::get<std::string>(answer.result[1].second), "failed_low");
}

TEST(Calculate, AnswersBeyondTheRangeOfNumbersAreRefused) {
  expect_error("theil-sen", {"x=0,1e-300,2e-300,1", "y=0,5e99,1e100,1e100"}, "larger than numbers");
  expect_error("loop-current", {"ma=20", "low=-1.7e308", "high=1.7e308"}, "larger than numbers");
}

TEST(List, NamesAreKnownToFindAndUnique) {
  for (const Calculator& calculator : list()) EXPECT_EQ(find(calculator.name), &calculator);
  EXPECT_EQ(find("wilso"), nullptr);
  EXPECT_GE(list().size(), 25u);
}

TEST(ToJson, IsOneDocumentWithShortestNumbers) {
  EXPECT_EQ(to_json(answer_of("clock-drift", {"ppm=20", "hours=24"})),
            R"({"calc": "clock-drift", "inputs": {"ppm": 20, "hours": 24}, )"
            R"("result": {"seconds": 1.728}, "source": "error times time", "notes": []})");
}

TEST(ToJson, WritesSeriesNoneAndAnyText) {
  Answer answer{"x", {{"path", std::string{"a\"b\n\xff"}}}, {}, "s", {"one", "two"}};
  answer.result = {{"none", Value{}}, {"series", std::vector<double>{0.1, 2}}, {"yes", true}};
  EXPECT_EQ(to_json(answer),
            "{\"calc\": \"x\", \"inputs\": {\"path\": \"a\\\"b\\n\xef\xbf\xbd\"}, \"result\": "
            "{\"none\": null, \"series\": [0.1, 2], \"yes\": true}, \"source\": \"s\", \"notes\": "
            "[\"one\", \"two\"]}");
}

TEST(ToText, LinesUpWhatWasGivenAndWhatCameOut) {
  EXPECT_EQ(
      to_text(answer_of("pt100", {"t_c=100"})),
      "pt100\n  t_c    100\ngives\n  r_ohm  138.5055\n  t_c    100\nsource: IEC 60751:2022\n");
}

TEST(ToText, CutsALongSeries) {
  std::string x = "x=1";
  for (int i = 0; i < 99; ++i) x += ",1";
  const std::string text = to_text(answer_of("ewma", {x, "lambda=0.5", "start=1"}));
  EXPECT_NE(text.find("1 1 1 ... (100 in all)"), std::string::npos) << text;
}

}  // namespace
}  // namespace fieldfare::calc
