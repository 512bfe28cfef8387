// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/octet_text.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

namespace fieldfare::wire {
namespace {

using fleet::Octets;

Octets octets(std::string_view text) { return {text.begin(), text.end()}; }

struct Row {
  std::string_view octets;
  std::string_view base64;
};

// RFC 4648 section 10, from memory.
constexpr Row kRfc4648[] = {{"", ""},
                            {"f", "Zg=="},
                            {"fo", "Zm8="},
                            {"foo", "Zm9v"},
                            {"foob", "Zm9vYg=="},
                            {"fooba", "Zm9vYmE="},
                            {"foobar", "Zm9vYmFy"}};

TEST(Base64, AgreesWithTheVectorsOfItsRfcPaddedAndNot) {
  for (const Row& row : kRfc4648) {
    EXPECT_EQ(octets_of_base64(row.base64), octets(row.octets)) << row.base64;
    EXPECT_EQ(octets_of_base64(row.base64.substr(0, row.base64.find('='))), octets(row.octets));
    EXPECT_EQ(base64_of(octets(row.octets)), row.base64);
  }
}

// RFC 8428 section 5.1.5, seen in a public copy: base64 for URLs, not padded.
TEST(Base64, ReadsTheDataValueOfRfc8428) {
  EXPECT_EQ(octets_of_base64("aGkgCg"), (Octets{0x68, 0x69, 0x20, 0x0A}));
  EXPECT_EQ(base64url_of(Octets{0x68, 0x69, 0x20, 0x0A}), "aGkgCg");
}

TEST(Base64, TakesBothAlphabetsButNotTheirMixture) {
  EXPECT_EQ(octets_of_base64("+/+/"), (Octets{0xFB, 0xFF, 0xBF}));
  EXPECT_EQ(octets_of_base64("-_-_"), (Octets{0xFB, 0xFF, 0xBF}));
  EXPECT_EQ(octets_of_base64("+/-_"), std::nullopt);
}

TEST(Base64, RefusesWhatIsNone) {
  for (const std::string_view text :
       {"Z", "Zg=", "Zg===", "Zg==Zg==", "Z g=", "=", "====", "Zh==", "Zm9=", "Zm9v\n"}) {
    EXPECT_EQ(octets_of_base64(text), std::nullopt) << text;
  }
}

TEST(Hex, TakesEitherCaseAndNothingBetween) {
  EXPECT_EQ(octets_of_hex("02aBFf"), (Octets{0x02, 0xAB, 0xFF}));
  EXPECT_EQ(octets_of_hex(""), Octets{});
  for (const std::string_view text : {"0", "0g", "02:03", "0x02", " 02"}) {
    EXPECT_EQ(octets_of_hex(text), std::nullopt) << text;
  }
}

TEST(OctetText, ComesBackAsItWas) {
  EXPECT_TRUE(rc::check("hex and base64 come back", [](const Octets& run) {
    RC_ASSERT(octets_of_hex(hex_of(run)) == run);
    RC_ASSERT(octets_of_base64(base64_of(run)) == run);
    RC_ASSERT(octets_of_base64(base64url_of(run)) == run);
  }));
}

}  // namespace
}  // namespace fieldfare::wire
