// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/cells.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <array>
#include <string>
#include <vector>

namespace fieldfare::wire {
namespace {

using Texts = std::vector<std::string>;

Texts texts_of(const Split& split) {
  Texts texts;
  for (const Cell& cell : split.cells) texts.emplace_back(cell.text);
  return texts;
}

struct Row {
  const char* source;
  const char* bytes;
  Texts cells;
};
// The examples of RFC 4180 section 2, rules 1 to 7, and what follows from its grammar.
const Row kRows[] = {
    {"rule 1", "aaa,bbb,ccc\r\n", {"aaa", "bbb", "ccc"}},
    {"rule 2, no end of the last line", "zzz,yyy,xxx", {"zzz", "yyy", "xxx"}},
    {"rule 4, blanks belong to a cell", "aaa, bbb ,ccc\n", {"aaa", " bbb ", "ccc"}},
    {"rule 5", "\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx", {"aaa", "bbb", "ccc"}},
    {"rule 6", "\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx", {"aaa", "b\r\nbb", "ccc"}},
    {"rule 6, comma", "\"a,a\",b\n", {"a,a", "b"}},
    {"rule 7", "\"aaa\",\"b\"\"bb\",\"ccc\"", {"aaa", "b\"bb", "ccc"}},
    {"empty cells", ",,\n", {"", "", ""}},
    {"empty quoted cell", "\"\",a\n", {"", "a"}},
    {"a quote alone", "\"\"\"\"\n", {"\""}},
    {"last cell empty", "a,\r\n", {"a", ""}},
    {"carriage return within", "a\rb,c\r\n", {"a\rb", "c"}},
};

TEST(SplitRow, TakesTheExamplesOfRfc4180) {
  Split split;
  for (const Row& row : kRows) {
    split_row(row.bytes, true, split);
    ASSERT_EQ(split.state, Split::State::complete) << row.source;
    EXPECT_EQ(texts_of(split), row.cells) << row.source;
  }
}

TEST(SplitRow, SaysWhereAQuoteIsOutOfPlace) {
  Split split;
  split_row("a,b\"c,d\n", true, split);
  EXPECT_EQ(split.state, Split::State::malformed);
  EXPECT_EQ(split.offset, 3u);
  split_row("a,\"b\"c,d\n", true, split);
  EXPECT_EQ(split.state, Split::State::malformed);
  EXPECT_EQ(split.offset, 4u);
  split_row("a,\"bc,d\n", true, split);
  EXPECT_EQ(split.state, Split::State::open);
  EXPECT_EQ(split.offset, 2u);
}

TEST(SplitRow, WaitsWhereMoreBytesCouldChangeTheAnswer) {
  Split split;
  for (const char* bytes : {"a,b", "a,\"b\"", "a,\"b\"\r", "a,\"b", "a,", "\""}) {
    split_row(bytes, false, split);
    EXPECT_EQ(split.state, Split::State::open) << bytes;
  }
}

TEST(SplitPlain, AgreesWithTheCarefulWayOnPlainLines) {
  EXPECT_TRUE(rc::check([] {
    const auto line = *rc::gen::container<std::string>(
        rc::gen::oneOf(rc::gen::element(',', ',', '"', '\t', '\x1F', ' ', '!', '\x7F'),
                       rc::gen::inRange(' ', '~')));
    std::array<Cell, 8> cells;
    const auto count = split_plain(line, cells);
    const bool plain = line.find_first_of("\"\t\x1F") == std::string::npos;
    RC_ASSERT(count.has_value() == plain);
    if (!count) return;
    Split split;
    split_row(line, true, split);
    RC_ASSERT(split.cells.size() == *count);
    for (std::size_t i = 0; i < std::min(*count, cells.size()); ++i) {
      RC_ASSERT(cells[i].text == split.cells[i].text);
      RC_ASSERT(cells[i].offset == split.cells[i].offset);
    }
  }));
}

TEST(SplitPlain, LeavesOtherLettersThanAsciiToTheCarefulWay) {
  std::array<Cell, 8> cells;
  EXPECT_FALSE(split_plain("K\xC3\xA4se,1", cells).has_value());
  EXPECT_FALSE(split_plain("a long enough line with one byte of value zero: \x01", cells));
}

}  // namespace
}  // namespace fieldfare::wire
