// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/tree.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "fieldfare/wire/internal/octet_text.h"

namespace fieldfare::wire {
namespace {

using fleet::Octets;

struct Read {
  Tree tree;
  std::optional<BodyError> error;
  std::optional<BodyFault> fault() const {
    return error ? std::optional{error->fault} : std::nullopt;
  }
};

Read cbor(const Octets& item) {
  Read read;
  read.error = read_cbor(item, read.tree);
  return read;
}
Read cbor(std::string_view hex) { return cbor(*octets_of_hex(hex)); }

Read json(std::string_view text) {
  Read read;
  read.error = read_json(Octets{text.begin(), text.end()}, read.tree);
  return read;
}

std::string written(const Tree& tree, CborKeys keys = CborKeys::as_text) {
  Octets octets;
  write_cbor(tree, keys, octets);
  return hex_of(octets);
}

struct Vector {
  std::string_view hex;
  std::string_view json;  ///< what it is, as JSON
  bool is_shortest = true;
};

// RFC 8949 appendix A, from the public file appendix_a.json of its test vectors, without
// simple(24): that file still has it as RFC 7049 did, RFC 8949 section 3.3 makes it ill-formed.
constexpr Vector kAppendixA[] = {
    {"00", "0"},
    {"01", "1"},
    {"0A", "10"},
    {"17", "23"},
    {"1818", "24"},
    {"1819", "25"},
    {"1864", "100"},
    {"1903E8", "1000"},
    {"1A000F4240", "1000000"},
    {"1B000000E8D4A51000", "1000000000000"},
    {"1BFFFFFFFFFFFFFFFF", "18446744073709551615"},
    {"C249010000000000000000", "18446744073709551616", false},
    {"3BFFFFFFFFFFFFFFFF", "-18446744073709551616", false},
    {"C349010000000000000000", "-18446744073709551617", false},
    {"20", "-1"},
    {"29", "-10"},
    {"3863", "-100"},
    {"3903E7", "-1000"},
    {"F90000", "0.0"},
    {"F98000", "-0.0"},
    {"F93C00", "1.0"},
    {"FB3FF199999999999A", "1.1"},
    {"F93E00", "1.5"},
    {"F97BFF", "65504.0"},
    {"FA47C35000", "100000.0"},
    {"FA7F7FFFFF", "3.4028234663852886e+38"},
    {"FB7E37E43C8800759C", "1.0e+300"},
    {"F90001", "5.960464477539063e-08"},
    {"F90400", "6.103515625e-05"},
    {"F9C400", "-4.0"},
    {"FBC010666666666666", "-4.1"},
    {"F4", "false"},
    {"F5", "true"},
    {"F6", "null"},
    {"F7", "null", false},
    {"F0", "null", false},
    {"F8FF", "null", false},
    {"C074323031332D30332D32315432303A30343A30305A", "\"2013-03-21T20:04:00Z\"", false},
    {"C11A514B67B0", "1363896240", false},
    {"C1FB41D452D9EC200000", "1363896240.5", false},
    {"D82076687474703A2F2F7777772E6578616D706C652E636F6D", "\"http://www.example.com\"", false},
    {"60", "\"\""},
    {"6161", "\"a\""},
    {"6449455446", "\"IETF\""},
    {"62225C", "\"\\\"\\\\\""},
    {"62C3BC", "\"\\u00fc\""},
    {"63E6B0B4", "\"\\u6c34\""},
    {"64F0908591", "\"\\ud800\\udd51\""},
    {"80", "[]"},
    {"83010203", "[1,2,3]"},
    {"8301820203820405", "[1,[2,3],[4,5]]"},
    {"98190102030405060708090A0B0C0D0E0F101112131415161718181819",
     "[1,2,3,4,5,6,7,8,9,10,11,12,13,14,15,16,17,18,19,20,21,22,23,24,25]"},
    {"A0", "{}"},
    {"A26161016162820203", R"({"a":1,"b":[2,3]})"},
    {"826161A161626163", R"(["a",{"b":"c"}])"},
    {"A56161614161626142616361436164614461656145", R"({"a":"A","b":"B","c":"C","d":"D","e":"E"})"},
    {"7F657374726561646D696E67FF", "\"streaming\"", false},
    {"9FFF", "[]", false},
    {"9F018202039F0405FFFF", "[1,[2,3],[4,5]]", false},
    {"9F01820203820405FF", "[1,[2,3],[4,5]]", false},
    {"83018202039F0405FF", "[1,[2,3],[4,5]]", false},
    {"83019F0203FF820405", "[1,[2,3],[4,5]]", false},
    {"BF61610161629F0203FFFF", R"({"a":1,"b":[2,3]})", false},
    {"826161BF61626163FF", R"(["a",{"b":"c"}])", false},
    {"BF6346756EF563416D7421FF", R"({"Fun":true,"Amt":-2})", false},
};

TEST(Cbor, ReadsAppendixAOfItsRfc) {
  for (const Vector& row : kAppendixA) {
    const Read read = cbor(row.hex);
    ASSERT_FALSE(read.error) << row.hex;
    EXPECT_EQ(read.tree, Tree::parse(row.json)) << row.hex;
  }
}

TEST(Cbor, WritesAppendixAOfItsRfcInTheSameShortestForm) {
  for (const Vector& row : kAppendixA) {
    if (!row.is_shortest) continue;
    EXPECT_EQ(written(Tree::parse(row.json)), row.hex);
  }
}

// RFC 8949 appendix A, as above.
TEST(Cbor, ReadsOctetsAndWhatIsNoNumber) {
  EXPECT_EQ(cbor("40").tree, Tree::binary({}));
  EXPECT_EQ(cbor("4401020304").tree, Tree::binary({1, 2, 3, 4}));
  EXPECT_EQ(cbor("D74401020304").tree, Tree::binary({1, 2, 3, 4}));
  EXPECT_EQ(cbor("D818456449455446").tree, Tree::binary({0x64, 0x49, 0x45, 0x54, 0x46}));
  EXPECT_EQ(cbor("5F42010243030405FF").tree, Tree::binary({1, 2, 3, 4, 5}));
  for (const std::string_view nan : {"F97E00", "FA7FC00000", "FB7FF8000000000000"}) {
    EXPECT_TRUE(std::isnan(cbor(nan).tree.get<double>())) << nan;
  }
  for (const std::string_view infinity : {"F97C00", "FA7F800000", "FB7FF0000000000000"}) {
    EXPECT_EQ(cbor(infinity).tree.get<double>(), HUGE_VAL) << infinity;
  }
  for (const std::string_view infinity : {"F9FC00", "FAFF800000", "FBFFF0000000000000"}) {
    EXPECT_EQ(cbor(infinity).tree.get<double>(), -HUGE_VAL) << infinity;
  }
  EXPECT_EQ(written(std::nan("")), "F97E00");
  EXPECT_EQ(written(HUGE_VAL), "F97C00");
  EXPECT_EQ(written(-HUGE_VAL), "F9FC00");
}

// RFC 8949 appendix A: {1: 2, 3: 4}; the key as text is our own reading.
TEST(Cbor, TakesIntegersAsKeysByTheirText) {
  EXPECT_EQ(cbor("A201020304").tree, Tree::parse(R"({"1":2,"3":4})"));
  EXPECT_EQ(cbor("A120F5").tree, Tree::parse(R"({"-1":true})"));
  EXPECT_EQ(written(Tree::parse(R"({"1":2,"3":4})"), CborKeys::as_integers), "A201020304");
}

// RFC 8949 section 3.4.4: 273.15 is 4([-2, 27315]) and 1.5 is 5([-1, 3]), from memory.
TEST(Cbor, ReadsNumbersInParts) {
  EXPECT_EQ(cbor("C48221196AB3").tree, 273.15);
  EXPECT_EQ(cbor("C5822003").tree, 1.5);
  EXPECT_EQ(cbor("C4821903E801").tree.get<double>(), HUGE_VAL);
  EXPECT_EQ(cbor("C4823903E801").tree.get<double>(), 0);
  EXPECT_EQ(cbor("C2420100").tree, 256);
  EXPECT_EQ(cbor("C34101").tree, -2);
  for (const std::string_view hex : {"C401", "C48101", "C482F51A00000001", "C482616101", "C201",
                                     "C26161", "C4821BFFFFFFFFFFFFFFFF01"}) {
    EXPECT_EQ(cbor(hex).fault(), BodyFault::bad_syntax) << hex;
  }
}

TEST(Cbor, RoundsLargeBignumsOnce) {
  // 2^64 + 2^11 + 1 lies just above the middle of two doubles (2^64 and 2^64 + 2^12).
  EXPECT_EQ(cbor("C249010000000000000801").tree.get<double>(), 0x1.0000000000001p64);
  EXPECT_EQ(cbor("C249010000000000000800").tree.get<double>(), 0x1p64);
}

// After RFC 8949 appendix F, from memory: heads cut short, reserved heads, breaks out of place.
TEST(Cbor, RefusesWhatIsNotWellFormed) {
  for (const std::string_view hex : {"",
                                     "18",
                                     "19",
                                     "1A0102",
                                     "1B01020304050607",
                                     "38",
                                     "58",
                                     "78",
                                     "98",
                                     "9A01FF",
                                     "B8",
                                     "D8",
                                     "F8",
                                     "F900",
                                     "FA0000",
                                     "FB000000",
                                     "41",
                                     "61",
                                     "5AFFFFFFFF00",
                                     "81",
                                     "8200",
                                     "A1",
                                     "A20102",
                                     "A100",
                                     "C0",
                                     "9F",
                                     "9F0102",
                                     "BF",
                                     "BF01",
                                     "5F",
                                     "5F4100",
                                     "7F",
                                     "1C",
                                     "1D",
                                     "1E",
                                     "3C",
                                     "5C",
                                     "7C",
                                     "9C",
                                     "BC",
                                     "DC",
                                     "FC",
                                     "FE",
                                     "F800",
                                     "F817",
                                     "F818",
                                     "F81F",
                                     "1F",
                                     "3F",
                                     "DF",
                                     "FF",
                                     "81FF",
                                     "A1FF",
                                     "A1FF00",
                                     "A100FF",
                                     "9F81FF",
                                     "BF00FF",
                                     "5F00FF",
                                     "5F6100FF",
                                     "5F5F4100FFFF",
                                     "7F4100FF",
                                     "9BFFFFFFFFFFFFFFFF",
                                     "BBFFFFFFFFFFFFFFFF",
                                     "5BFFFFFFFFFFFFFFFF"}) {
    EXPECT_EQ(cbor(hex).fault(), BodyFault::bad_syntax) << hex;
  }
}

TEST(Cbor, RefusesWhatFollowsBadTextAndKeysThatNothingCanPointTo) {
  for (const std::string_view hex :
       {"0000", "62C328", "61FF", "7F61C361BCFF", "A1F500", "A1410100", "A1800000", "A1C00000",
        "A2010201", "A26161016161 02", "A201F5613102", "A13BFFFFFFFFFFFFFFFF00"}) {
    std::string tight{hex};
    std::erase(tight, ' ');
    EXPECT_EQ(cbor(tight).fault(), BodyFault::bad_syntax) << hex;
  }
}

TEST(Cbor, StopsWhereItIsNestedTooDeepHoweverDeepThatIs) {
  for (const std::uint8_t opener : {std::uint8_t{0x81}, std::uint8_t{0x9F}}) {
    Octets item(kDeepestBody, opener);
    item.back() = 0x80;
    if (opener == 0x9F) item.insert(item.end(), kDeepestBody - 1, 0xFF);
    EXPECT_EQ(cbor(item).fault(), std::nullopt);
    EXPECT_EQ(cbor(Octets(kDeepestBody + 1, opener)).fault(), BodyFault::too_deep);
    EXPECT_EQ(cbor(Octets(1'000'000, opener)).fault(), BodyFault::too_deep);
  }
  EXPECT_EQ(cbor(Octets(1'000'000, 0xC1)).fault(), BodyFault::too_deep);
}

TEST(Json, StopsWhereItIsNestedTooDeepHoweverDeepThatIs) {
  const auto nested = [](std::size_t depth, const char* open, const char* close) {
    std::string text;
    for (std::size_t i = 0; i < depth; ++i) text += open;
    text += "1";
    for (std::size_t i = 0; i < depth; ++i) text += close;
    return text;
  };
  EXPECT_EQ(json(nested(kDeepestBody, "[", "]")).fault(), std::nullopt);
  EXPECT_EQ(json(nested(kDeepestBody + 1, "[", "]")).fault(), BodyFault::too_deep);
  EXPECT_EQ(json(nested(1'000'000, "[", "]")).fault(), BodyFault::too_deep);
  EXPECT_EQ(json(nested(kDeepestBody, "{\"a\":", "}")).fault(), std::nullopt);
  EXPECT_EQ(json(nested(kDeepestBody + 1, "{\"a\":", "}")).fault(), BodyFault::too_deep);
}

TEST(Json, SaysWhereItIsDamaged) {
  const auto error = json("{\"a\": 1, \"b\": x}").error;
  ASSERT_TRUE(error);
  EXPECT_EQ(error->fault, BodyFault::bad_syntax);
  EXPECT_EQ(error->offset, 14u);
}

TEST(Json, RefusesWhatRfc8259DoesNotHave) {
  for (const std::string_view text :
       {"", " ", "{", "[1,]", "{\"a\":1,}", "nan", "NaN", "Infinity", "[1e999]", "01", "+1", "'a'",
        "{\"a\":1}x", "\"\xFF\"", "\"\\ud800\"", "{\"a\":1,\"a\":2}", "{\"a\":1,\"\\u0061\":2}"}) {
    EXPECT_EQ(json(text).fault(), BodyFault::bad_syntax) << text;
  }
}

TEST(Json, KeepsIntegersOf64BitsExact) {
  EXPECT_EQ(json("18446744073709551615").tree.get<std::uint64_t>(), UINT64_MAX);
  EXPECT_EQ(json("-9223372036854775808").tree.get<std::int64_t>(), INT64_MIN);
  EXPECT_EQ(json("9007199254740993").tree.get<std::uint64_t>(), 9007199254740993u);
  EXPECT_EQ(json("18446744073709551616").tree.get<double>(), 0x1p64);
}

// RFC 6901 section 5, as quoted in public copies of its example document.
TEST(Pointers, LeadToTheValuesOfTheExampleOfRfc6901) {
  const Tree document = Tree::parse(R"({"foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2,
    "e^f": 3, "g|h": 4, "i\\j": 5, "k\"l": 6, " ": 7, "m~n": 8})");
  const std::pair<std::string_view, Tree> rows[] = {{"", document},    {"/foo", document["foo"]},
                                                    {"/foo/0", "bar"}, {"/", 0},
                                                    {"/a~1b", 1},      {"/c%d", 2},
                                                    {"/e^f", 3},       {"/g|h", 4},
                                                    {"/i\\j", 5},      {"/k\"l", 6},
                                                    {"/ ", 7},         {"/m~0n", 8}};
  for (const auto& [pointer, value] : rows) {
    const Tree* const found = find_in(document, pointer_tokens(pointer));
    ASSERT_NE(found, nullptr) << pointer;
    EXPECT_EQ(*found, value) << pointer;
  }
  for (const std::string_view nowhere : {"/bar", "/foo/2", "/foo/00", "/foo/-", "/foo/+1", "/foo/",
                                         "/foo/0/0", "/foo/18446744073709551616"}) {
    EXPECT_EQ(find_in(document, pointer_tokens(nowhere)), nullptr) << nowhere;
  }
}

// RFC 6901 section 4: first ~1, then ~0, so that ~01 is ~1 and no slash.
TEST(Pointers, UndoEscapesOnce) {
  EXPECT_EQ(pointer_tokens("/~01/~10/"), (std::vector<std::string>{"~1", "/0", ""}));
}

Tree random_tree(int depth) {
  const int kind = *rc::gen::inRange(0, depth > 0 ? 9 : 7);
  switch (kind) {
    case 0:
      return nullptr;
    case 1:
      return *rc::gen::arbitrary<bool>();
    case 2:
      return *rc::gen::arbitrary<std::uint64_t>();
    case 3:
      return *rc::gen::arbitrary<std::int64_t>();
    case 4:
      return *rc::gen::arbitrary<double>();
    case 5:
      return static_cast<double>(*rc::gen::arbitrary<float>());
    case 6:
      return *rc::gen::container<std::string>(rc::gen::inRange('\0', '\x7F'));
    case 7: {
      Tree list = Tree::array();
      for (int i = *rc::gen::inRange(0, 5); i > 0; --i) list.push_back(random_tree(depth - 1));
      return list;
    }
    default: {
      Tree object = Tree::object();
      for (int i = *rc::gen::inRange(0, 5); i > 0; --i) {
        object[*rc::gen::container<std::string>(rc::gen::inRange('a', 'd'))] =
            random_tree(depth - 1);
      }
      return object;
    }
  }
}

// Against the reader and writer of the JSON library, which are others than ours.
TEST(Cbor, AgreesWithALibraryBothWays) {
  EXPECT_TRUE(rc::check("read_cbor reads what the library writes, and the other way round", [] {
    const Tree tree = random_tree(4);
    const Octets theirs = Tree::to_cbor(tree);
    const Read read = cbor(theirs);
    RC_ASSERT(!read.error);
    RC_ASSERT(read.tree == tree);
    Octets ours;
    write_cbor(tree, CborKeys::as_text, ours);
    RC_ASSERT(Tree::from_cbor(ours) == tree);
    RC_ASSERT(ours.size() <= theirs.size());
  }));
}

TEST(Json, AgreesWithALibrarysOwnTree) {
  EXPECT_TRUE(rc::check("read_json gives the tree of the library's parser", [] {
    const Tree tree = random_tree(4);
    const Read read = json(tree.dump());
    RC_ASSERT(!read.error);
    RC_ASSERT(read.tree == Tree::parse(tree.dump()));
  }));
}

TEST(Pointers, AgreeWithALibraryInRandomDocuments) {
  EXPECT_TRUE(rc::check("find_in leads where the library's pointer leads", [] {
    const Tree tree = random_tree(4);
    std::string pointer;
    for (int i = *rc::gen::inRange(0, 4); i > 0; --i) {
      pointer += "/" + *rc::gen::element<std::string>("a", "b", "c", "", "0", "1", "2", "3");
    }
    const Tree::json_pointer theirs{pointer};
    const Tree* const found = find_in(tree, pointer_tokens(pointer));
    const bool there = found != nullptr;
    bool expected = true;
    try {
      expected = tree.contains(theirs);
    } catch (const Tree::exception&) {
      expected = false;  // an empty token in front of an array
    }
    RC_ASSERT(there == expected);
    if (there) RC_ASSERT(*found == tree.at(theirs));
  }));
}

TEST(Cbor, ReadsArbitraryOctetsToAnEnd) {
  EXPECT_TRUE(rc::check("any octets give a tree or an error within them", [](const Octets& octets) {
    const Read read = cbor(octets);
    if (read.error) RC_ASSERT(read.error->offset <= octets.size());
  }));
}

}  // namespace
}  // namespace fieldfare::wire
