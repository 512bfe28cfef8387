// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/tree.h"

#include <gtest/gtest.h>

#include <string>

namespace fieldfare::site {
namespace {

std::string repeated(const std::string& part, int times) {
  std::string text;
  for (int i = 0; i < times; ++i) text += part;
  return text;
}

std::string complaint(const std::string& text) {
  const auto tree = parse_tree(text, "x.toml");
  return tree ? "" : tree.error().text();
}

template <class T>
T value(const std::string& text) {
  const auto tree = parse_tree(text, "x.toml");
  if (!tree || tree->size() != 1 || !std::get_if<T>(&tree->front().value.data)) {
    ADD_FAILURE() << text;
    return {};
  }
  return std::get<T>(tree->front().value.data);
}

// The examples are those of the TOML 1.0 specification, sections String, Integer,
// Float and Local Date, from memory.
TEST(Tree, TakesTheValuesOfToml) {
  EXPECT_EQ(value<std::string>("a = \"tab\\t\\u00E9\""), "tab\té");
  EXPECT_EQ(value<std::string>("a = '<\\i\\c*\\s*>'"), "<\\i\\c*\\s*>");
  EXPECT_EQ(value<std::string>("a = \"\"\"\nRoses are red\nViolets are blue\"\"\""),
            "Roses are red\nViolets are blue");
  EXPECT_EQ(value<std::string>("a = '''\nI [dw]on't need \\d{2} apples'''"),
            "I [dw]on't need \\d{2} apples");
  EXPECT_EQ(value<std::int64_t>("a = 0xDEADBEEF"), 0xDEADBEEF);
  EXPECT_EQ(value<std::int64_t>("a = 5_349_221"), 5349221);
  EXPECT_EQ(value<double>("a = 6.626e-34"), 6.626e-34);
  EXPECT_EQ(value<bool>("a = true"), true);
  EXPECT_EQ(value<std::chrono::year_month_day>("a = 1979-05-27"), std::chrono::year{1979} / 5 / 27);
  EXPECT_EQ(value<List>("a = [\n 1, # one\n 2,\n]").size(), 2u);
  EXPECT_EQ(value<Table>("a.b.c = 1").size(), 1u);
  EXPECT_EQ(value<Table>("\"a.b\" = { c = 1, d = 2 }").size(), 2u);
  EXPECT_EQ(value<List>("[[a]]\r\nb = 1\r\n[[a]]\r\n").size(), 2u) << "lines may end in CR LF";
}

TEST(Tree, GivesTheLineAndTheColumnOfKeysAndValues) {
  const auto tree = parse_tree("# é\n  a = 1\n[t]\n\"é\" = { k = 2 }\n", "x.toml");
  ASSERT_TRUE(tree.has_value());
  ASSERT_EQ(tree->size(), 2u);
  EXPECT_EQ((*tree)[0].spot, (Spot{2, 3}));
  EXPECT_EQ((*tree)[0].value.spot, (Spot{2, 7}));
  const auto& inner = std::get<Table>((*tree)[1].value.data);
  EXPECT_EQ(inner[0].spot, (Spot{4, 1}));
  EXPECT_EQ(std::get<Table>(inner[0].value.data)[0].spot, (Spot{4, 9})) << "é is one character";
}

TEST(Tree, KeepsTheOrderOfTheFile) {
  const auto tree = parse_tree("z = 1\na = 2\nm = 3\n", "x.toml");
  ASSERT_TRUE(tree.has_value());
  EXPECT_EQ((*tree)[0].key, "z");
  EXPECT_EQ((*tree)[1].key, "a");
  EXPECT_EQ((*tree)[2].key, "m");
}

TEST(Tree, RefusesWhatIsNoToml) {
  EXPECT_TRUE(complaint("a = 1\nb = \n").starts_with("x.toml:2:")) << complaint("a = 1\nb = \n");
  EXPECT_TRUE(complaint("a = 1\na = 2\n").starts_with("x.toml:2:"));
  EXPECT_TRUE(complaint("a = \"\xFF\"").starts_with("x.toml:1:"));
  EXPECT_TRUE(complaint(std::string("a = \"\0\"", 7)).starts_with("x.toml:1:"));
}

TEST(Tree, RefusesKeysOfMoreThanEightParts) {
  EXPECT_EQ(complaint("a.b.c.d.e.f.g.h = 1"), "");
  EXPECT_EQ(complaint("x = 1\na.b.c.d.e.f.g.h.i = 1"),
            "x.toml:2:16: a key with too many dotted parts; expected at most 8");
  EXPECT_NE(complaint("[" + repeated("a.", 100'000) + "a]"), "");
  EXPECT_NE(complaint(repeated("\"a\" . ", 100'000) + "a = 1"), "") << "quoted, with blanks";
}

TEST(Tree, TakesDotsThatAreInNoKey) {
  EXPECT_EQ(complaint("a = \"1.2.3.4.5.6.7.8.9.10\""), "");
  EXPECT_EQ(complaint("a = '''\n1.2.3.4.5.6.7.8.9.10'''"), "");
  EXPECT_EQ(complaint("a = \"\\\"1.2.3.4.5.6.7.8.9.10\""), "");
  EXPECT_EQ(complaint("# 1.2.3.4.5.6.7.8.9.10"), "");
  EXPECT_EQ(complaint("a = [1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1, 1.1]"), "");
}

TEST(Tree, TakesQuotesBeforeTheEndOfALongString) {
  const std::string dots = "1.2.3.4.5.6.7.8.9.10";
  EXPECT_EQ(value<std::string>("a = \"\"\"x\"\"\"\""), "x\"");
  EXPECT_EQ(complaint("a = [\"\"\"x\"\"\"\", \"" + dots + "\"]"), "");
  EXPECT_EQ(complaint("a = ['''x''''', '" + dots + "']"), "");
}

// Found by fuzzing on 2026-11-25: undefined behaviour of toml++ 3.3.0 where a
// letter from U+00A1 to U+0499 stands where white space may.
TEST(Tree, TakesOrRefusesLettersWhereWhiteSpaceMayBe) {
  EXPECT_EQ(value<std::string>("a = \"\"\"x \\\n é\"\"\""), "x é");
  EXPECT_EQ(value<std::string>("a = \"\"\"x \\\n Ελλ\"\"\""), "x Ελλ");
  EXPECT_NE(complaint("wit Ε"), "");
  EXPECT_NE(complaint("é = 1"), "");
  EXPECT_NE(complaint("a = 1 é"), "");
  EXPECT_NE(complaint("a = \"\"\"\\é\"\"\""), "");
}

TEST(Tree, RefusesDeepNesting) {
  EXPECT_EQ(complaint("a = " + repeated("[", 32) + repeated("]", 32)), "");
  EXPECT_EQ(complaint("a = " + repeated("[", 33) + repeated("]", 33)),
            "x.toml:1:37: brackets nested too deep; expected at most 32 levels");
  EXPECT_NE(complaint("a = " + repeated("[", 500'000)), "");
  EXPECT_NE(complaint("a = " + repeated("{a=", 300'000)), "");
  EXPECT_NE(complaint("a = " + repeated("[{a.a.a.a.a.a.a=", 60'000)), "");
}

TEST(Tree, RefusesAFileOfMoreThanAMebibyte) {
  EXPECT_EQ(complaint(std::string(kMostBytes, '#')), "");
  EXPECT_EQ(complaint(std::string(kMostBytes + 1, '#')),
            "x.toml: the file has 1048577 bytes; expected at most 1048576");
}

TEST(Tree, TakesManyKeysInReasonableTime) {
  std::string text;
  for (int i = 0; text.size() + 20 < kMostBytes; ++i) text += "k" + std::to_string(i) + "=1\n";
  EXPECT_EQ(complaint(text), "");
}

}  // namespace
}  // namespace fieldfare::site
