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
}

TEST(Help, IsPrintedForEveryVerb) {
  for (const char* verb : {"new", "check", "import", "judge", "calc", "completion"}) {
    const auto command = parse({verb, "--help"});
    ASSERT_TRUE(command) << verb;
    EXPECT_THAT(std::get<PrintCommand>(*command).text, HasSubstr("Example:")) << verb;
  }
}

}  // namespace
}  // namespace fieldfare::cli
