// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/gunzip.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <zlib.h>

#include <algorithm>
#include <string>
#include <vector>

namespace fieldfare::wire {
namespace {

/// One gzip member, made by zlib (the reference).
std::string gzip(const std::string& text) {
  z_stream stream{};
  EXPECT_EQ(deflateInit2(&stream, 6, Z_DEFLATED, 15 + 16, 8, Z_DEFAULT_STRATEGY), Z_OK);
  std::string packed(deflateBound(&stream, text.size()) + 64, '\0');
  std::string input = text;
  stream.next_in = reinterpret_cast<Bytef*>(input.data());
  stream.avail_in = static_cast<uInt>(input.size());
  stream.next_out = reinterpret_cast<Bytef*>(packed.data());
  stream.avail_out = static_cast<uInt>(packed.size());
  EXPECT_EQ(deflate(&stream, Z_FINISH), Z_STREAM_END);
  packed.resize(stream.total_out);
  deflateEnd(&stream);
  return packed;
}

struct Unpacked {
  std::string text;
  std::string complaint;
  std::size_t largest_piece = 0;
};

Unpacked unpack(std::string_view bytes, std::size_t piece_size = 4096) {
  Unpacked unpacked;
  Gunzip gunzip{"a.csv.gz"};
  const ByteSink sink = [&](std::string_view piece) {
    unpacked.text += piece;
    unpacked.largest_piece = std::max(unpacked.largest_piece, piece.size());
  };
  for (std::size_t at = 0; at < bytes.size(); at += piece_size) {
    gunzip.feed(bytes.substr(at, piece_size), sink);
  }
  gunzip.finish(sink);
  if (gunzip.complaint()) unpacked.complaint = gunzip.complaint()->text();
  return unpacked;
}

// The gzip of "hello\n", written out by hand from RFC 1952 (header, CRC-32, size)
// and RFC 1951 section 3.2.4 (a block that is not compressed). CRC-32 of
// "hello\n" is 0x363a3020.
constexpr unsigned char kHello[] = {0x1f, 0x8b, 0x08, 0,    0,    0,    0,   0,   0,   0xff,
                                    0x01, 0x06, 0x00, 0xf9, 0xff, 'h',  'e', 'l', 'l', 'o',
                                    '\n', 0x20, 0x30, 0x3a, 0x36, 0x06, 0,   0,   0};
const std::string kHelloBytes{reinterpret_cast<const char*>(kHello), sizeof kHello};

TEST(Gunzip, UnpacksAMemberWrittenByHandFromTheRfc) {
  const Unpacked unpacked = unpack(kHelloBytes);
  EXPECT_EQ(unpacked.text, "hello\n");
  EXPECT_EQ(unpacked.complaint, "");
}

TEST(Gunzip, LetsAllElseThrough) {
  for (const std::string& text :
       {std::string{}, std::string{"time,node\n"}, std::string{"\x1F"}, std::string{"\x1F\x1F\x8B"},
        std::string{"\x8B\x1F"}, std::string(200'000, 'x')}) {
    for (const std::size_t piece : {std::size_t{1}, std::size_t{300'000}}) {
      EXPECT_EQ(unpack(text, piece).text, text);
      EXPECT_EQ(unpack(text, piece).complaint, "");
    }
  }
}

TEST(Gunzip, UnpacksMembersInTurnAndTakesZerosForPadding) {
  const std::string packed = gzip("one\n") + std::string(3, '\0') + gzip("") + gzip("two\n");
  for (const std::size_t piece : {1, 2, 7, 4096}) {
    EXPECT_EQ(unpack(packed + std::string(512, '\0'), piece).text, "one\ntwo\n");
    EXPECT_EQ(unpack(packed + std::string(512, '\0'), piece).complaint, "");
  }
}

TEST(Gunzip, TellsAMissingEndAndKeepsWhatCameBefore) {
  const std::string whole = gzip(std::string(10'000, 'a') + std::string(10'000, 'b'));
  for (std::size_t size = 2; size < whole.size(); ++size) {
    const Unpacked unpacked = unpack(std::string_view{whole}.substr(0, size));
    EXPECT_TRUE(unpacked.complaint.starts_with("a.csv.gz: the compressed data end in the middle"))
        << size << unpacked.complaint;
  }
  const Unpacked member = unpack(kHelloBytes + kHelloBytes.substr(0, 1));
  EXPECT_EQ(member.text, "hello\n");
  EXPECT_FALSE(member.complaint.empty());
}

TEST(Gunzip, TellsDamageAndWhatFollowsTheData) {
  std::string wrong_sum = kHelloBytes;
  wrong_sum[21] ^= 1;
  EXPECT_EQ(unpack(wrong_sum).text, "hello\n");
  EXPECT_TRUE(unpack(wrong_sum).complaint.starts_with("a.csv.gz: the compressed data are damaged"));
  EXPECT_TRUE(
      unpack("\x1F\x8B no gzip").complaint.starts_with("a.csv.gz: the compressed data are"));
  const Unpacked followed = unpack(kHelloBytes + "time,node\n");
  EXPECT_EQ(followed.text, "hello\n");
  EXPECT_TRUE(followed.complaint.starts_with("a.csv.gz: something that is not compressed"));
}

TEST(Gunzip, GivesABombInPieces) {
  const Unpacked unpacked = unpack(gzip(std::string(20'000'000, '\0')), 1 << 20);
  EXPECT_EQ(unpacked.text.size(), 20'000'000u);
  EXPECT_LE(unpacked.largest_piece, Gunzip::kLargestPiece);
}

TEST(Gunzip, AnySplitGivesTheSame) {
  EXPECT_TRUE(rc::check([] {
    const auto text = *rc::gen::arbitrary<std::string>();
    std::string packed = gzip(text) + gzip(text + text);
    if (*rc::gen::arbitrary<bool>()) {
      packed[*rc::gen::inRange<std::size_t>(0, packed.size())] = *rc::gen::arbitrary<char>();
    }
    const Unpacked whole = unpack(packed, packed.size());
    const Unpacked split = unpack(packed, *rc::gen::inRange<std::size_t>(1, 20));
    RC_ASSERT(split.text == whole.text);
    RC_ASSERT(split.complaint == whole.complaint);
  }));
}

}  // namespace
}  // namespace fieldfare::wire
