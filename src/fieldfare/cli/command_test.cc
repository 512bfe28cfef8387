// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/command.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace fieldfare::cli {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

Result<Command, std::string> parse(std::vector<const char*> arguments) {
  arguments.insert(arguments.begin(), "fieldfare");
  return parse_command(static_cast<int>(arguments.size()), arguments.data());
}

std::string wrong_with(std::vector<const char*> arguments) {
  const auto command = parse(std::move(arguments));
  return command ? "nothing" : command.error();
}

TEST(Arguments, OfJudgeAreReadWithTheirUnits) {
  const auto command =
      parse({"judge", "--log", "a.csv", "b.csv", "--log", "-", "--interval", "31 s", "--seq-bits",
             "16", "--confidence", "0.9", "--to", "2026-03-02T06:00:00Z", "--json"});
  ASSERT_TRUE(command);
  const auto& judge = std::get<JudgeCommand>(*command);
  EXPECT_THAT(judge.logs, ElementsAre("a.csv", "b.csv", "-"));
  EXPECT_EQ(judge.interval, Duration::seconds(31));
  EXPECT_EQ(judge.sequence_bits, 16);
  EXPECT_EQ(judge.confidence, 0.9);
  EXPECT_EQ(judge.to, parse_rfc3339("2026-03-02T06:00:00Z"));
  EXPECT_TRUE(judge.json);
  EXPECT_TRUE(judge.folder.empty());
}

TEST(Arguments, OfCalcKeepTheirKeysApart) {
  const auto command = parse({"calc", "link-budget", "tx_dbm=-3", "loss_db=90", "--json"});
  ASSERT_TRUE(command);
  const auto& calc = std::get<CalcCommand>(*command);
  EXPECT_EQ(calc.name, "link-budget");
  EXPECT_THAT(calc.arguments, ElementsAre("tx_dbm=-3", "loss_db=90"));
}

TEST(Arguments, OfADeskAreItsSources) {
  const auto command = parse({"listen", "--port", "/dev/ttyUSB0", "--baud", "9600", "--mqtt",
                              "mqtt://broker", "dairy/#", "--udp", "5005", "--keep", "desk.bytes"});
  ASSERT_TRUE(command) << command.error();
  const auto& listen = std::get<ListenCommand>(*command);
  using Pair = std::pair<std::string, std::string>;
  EXPECT_THAT(listen.sources,
              ElementsAre(Pair{"r1", "serial:///dev/ttyUSB0?baud=9600"},
                          Pair{"r2", "mqtt://broker/dairy/%23"}, Pair{"r3", "udp://0.0.0.0:5005"}));
  EXPECT_FALSE(listen.sends_log);
  EXPECT_EQ(listen.keep, "desk.bytes");
}

TEST(Arguments, OfLearnAreItsHints) {
  const auto command =
      parse({"learn", "desk.bytes", "--label", "5CE7,A1B2", "--label", "0003", "--provoked",
             "2026-03-02T07:00:00Z=5CE7", "--value", "temperature_c=21.4", "--json"});
  ASSERT_TRUE(command) << command.error();
  const auto& learn = std::get<LearnCommand>(*command);
  EXPECT_EQ(learn.from, "desk.bytes");
  EXPECT_THAT(learn.labels, ElementsAre("5CE7", "A1B2", "0003"));
  ASSERT_EQ(learn.provoked.size(), 1U);
  EXPECT_EQ(learn.provoked[0].second, "5CE7");
  ASSERT_EQ(learn.values.size(), 1U);
  EXPECT_EQ(learn.values[0].value, 21.4);
}

TEST(WrongArguments, ProposeTheNearestName) {
  EXPECT_THAT(wrong_with({"jugde"}), HasSubstr("did you mean judge?"));
  EXPECT_THAT(wrong_with({"judge", "x", "--jsno"}), HasSubstr("did you mean --json?"));
  EXPECT_THAT(wrong_with({"new", "x", "--dmeo=1"}), HasSubstr("did you mean --demo?"));
}

TEST(WrongArguments, SayWhatWasExpected) {
  EXPECT_THAT(wrong_with({"judge"}), HasSubstr("SITE"));
  EXPECT_THAT(wrong_with({"judge", "x", "--seq-bits", "0"}), HasSubstr("1 to 32"));
  EXPECT_THAT(wrong_with({"judge", "x", "--seq-bits", "8.5"}), HasSubstr("1 to 32"));
  EXPECT_THAT(wrong_with({"judge", "x", "--confidence", "95"}), HasSubstr("0.95"));
  EXPECT_THAT(wrong_with({"judge", "x", "--interval", "0 s"}), HasSubstr("duration"));
  EXPECT_THAT(wrong_with({"import", "x"}), HasSubstr("--log"));
  EXPECT_THAT(wrong_with({"listen", "--for", "1 s"}), HasSubstr("--port"));
  EXPECT_THAT(wrong_with({"listen", "x", "--port", "/dev/ttyUSB0"}), HasSubstr("--source"));
  EXPECT_THAT(wrong_with({"listen", "--udp", "1", "--log", "x.csv"}), HasSubstr("rows"));
  EXPECT_THAT(wrong_with({"learn", "x", "--value", "21.4"}), HasSubstr("temperature_c=21.4"));
  EXPECT_THAT(wrong_with({"learn", "x", "--provoked", "5CE7"}), HasSubstr("a moment"));
}

TEST(Help, IsPrintedForEveryVerb) {
  for (const char* verb :
       {"new", "check", "import", "listen", "learn", "judge", "calc", "completion"}) {
    const auto command = parse({verb, "--help"});
    ASSERT_TRUE(command) << verb;
    EXPECT_THAT(std::get<PrintCommand>(*command).text, HasSubstr("Example:")) << verb;
  }
}

}  // namespace
}  // namespace fieldfare::cli
