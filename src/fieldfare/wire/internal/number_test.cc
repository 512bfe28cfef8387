// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/number.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <bit>
#include <cmath>
#include <cstdlib>
#include <string>

namespace fieldfare::wire {
namespace {

struct Row {
  const char* text;
  bool decimal;  ///< taken in CSV
  bool json;     ///< taken in JSON: RFC 8259 section 6
};
constexpr Row kRows[] = {
    {"0", true, true},       {"-0", true, true},
    {"12", true, true},      {"-87.5", true, true},
    {"1e3", true, true},     {"1E+3", true, true},
    {"1e-3", true, true},    {"0.0", true, true},
    {"+3", true, false},     {".5", true, false},
    {"5.", true, false},     {"007", true, false},
    {"-01", true, false},    {"", false, false},
    {"-", false, false},     {".", false, false},
    {"e5", false, false},    {"1e", false, false},
    {"1e+", false, false},   {"nan", false, false},
    {"inf", false, false},   {"-inf", false, false},
    {"0x10", false, false},  {"1 2", false, false},
    {" 1", false, false},    {"1,5", false, false},
    {"1e999", false, false}, {"--1", false, false},
    {"1.2.3", false, false}, {"+-1", false, false},
    {"1_000", false, false}, {"1e99999999999999999999", false, false},
};

TEST(Number, IsTakenByTheGrammarOfItsFormatAlone) {
  for (const Row& row : kRows) {
    EXPECT_EQ(parse_number(row.text, NumberGrammar::decimal).ok, row.decimal) << row.text;
    EXPECT_EQ(parse_number(row.text, NumberGrammar::json).ok, row.json) << row.text;
  }
}

void expect_as_strtod(const std::string& text) {
  const auto parsed = parse_number(text, NumberGrammar::decimal);
  RC_ASSERT(parsed.ok);
  const double reference = std::strtod(text.c_str(), nullptr);
  RC_ASSERT(std::bit_cast<std::uint64_t>(parsed.value) == std::bit_cast<std::uint64_t>(reference));
}

// Reference: strtod of the C library, which rounds correctly.
TEST(Number, IsRoundedAsTheCLibraryRounds) {
  EXPECT_TRUE(rc::check([] {
    const auto digits = *rc::gen::arbitrary<std::uint64_t>();
    const auto keep = *rc::gen::inRange(1, 21);
    const auto exponent = *rc::gen::inRange(-290, 280);
    const std::string mantissa = std::to_string(digits).substr(0, static_cast<std::size_t>(keep));
    expect_as_strtod(mantissa + "e" + std::to_string(exponent));
    expect_as_strtod("-" + mantissa + "." + std::to_string(digits % 1000));
    expect_as_strtod(mantissa + "e" + std::to_string(exponent % 25));
  }));
}

TEST(Counter, HoldsEveryNumberBelowTwoToThe64) {
  EXPECT_EQ(parse_counter("18446744073709551615").value, 18446744073709551615u);
  EXPECT_EQ(parse_counter("0000000000000000000000042").value, 42u);
  for (const char* text :
       {"18446744073709551616", "-1", "+1", "1.0", "", "0x1", "1 ", "99999999999999999999999"}) {
    EXPECT_FALSE(parse_counter(text).ok) << text;
  }
}

}  // namespace
}  // namespace fieldfare::wire
