// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/unpack.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <lzma.h>
#include <zlib.h>
#include <zstd.h>

#include <algorithm>
#include <string_view>
#include <vector>

namespace fieldfare::source {
namespace {

using testing::AnyOf;
using testing::HasSubstr;

// Packed by the reference libraries themselves.
std::string gzip(std::string_view text) {
  constexpr int kGzipWindow = 15 + 16;
  z_stream stream{};
  deflateInit2(&stream, 6, Z_DEFLATED, kGzipWindow, 8, Z_DEFAULT_STRATEGY);
  std::string packed(deflateBound(&stream, text.size()), '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
  stream.avail_in = static_cast<uInt>(text.size());
  stream.next_out = reinterpret_cast<Bytef*>(packed.data());
  stream.avail_out = static_cast<uInt>(packed.size());
  deflate(&stream, Z_FINISH);
  packed.resize(stream.total_out);
  deflateEnd(&stream);
  return packed;
}

std::string xz(std::string_view text) {
  std::string packed(lzma_stream_buffer_bound(text.size()), '\0');
  std::size_t size = 0;
  lzma_easy_buffer_encode(6, LZMA_CHECK_CRC64, nullptr,
                          reinterpret_cast<const std::uint8_t*>(text.data()), text.size(),
                          reinterpret_cast<std::uint8_t*>(packed.data()), &size, packed.size());
  packed.resize(size);
  return packed;
}

std::string zstd(std::string_view text) {
  std::string packed(ZSTD_compressBound(text.size()), '\0');
  packed.resize(ZSTD_compress(packed.data(), packed.size(), text.data(), text.size(), 3));
  return packed;
}

struct Unpacked {
  std::string text;
  std::optional<Complaint> complaint;
};

/// Reads `packed`, handed over in pieces of one size and asked for in another.
Unpacked unpack(std::string_view packed, std::size_t piece = 1 << 16, std::size_t room = 1 << 16) {
  Unpacker unpacker{"x", [&](std::span<char> out) {
                      const std::size_t size = std::min({piece, out.size(), packed.size()});
                      std::copy_n(packed.data(), size, out.data());
                      packed.remove_prefix(size);
                      return size;
                    }};
  Unpacked unpacked;
  std::vector<char> out(room);
  while (const std::size_t got = unpacker.read(out)) unpacked.text.append(out.data(), got);
  EXPECT_EQ(unpacker.read(out), 0U);
  unpacked.complaint = unpacker.complaint();
  return unpacked;
}

std::string long_text() {
  std::string text;
  for (int i = 0; text.size() < 300'000; ++i) text += std::to_string(i * 7919 % 65'537) + ',';
  return text;
}

using Packer = std::string (*)(std::string_view);
class Packed : public testing::TestWithParam<Packer> {};
INSTANTIATE_TEST_SUITE_P(Formats, Packed, testing::Values(gzip, xz, zstd));

TEST_P(Packed, WhatWasPackedComesOutWhateverThePieces) {
  const std::string text = long_text();
  const std::string packed = GetParam()(text);
  ASSERT_LT(packed.size(), text.size());
  for (const std::size_t piece : {std::size_t{1}, std::size_t{1000}, std::size_t{1} << 20}) {
    const Unpacked unpacked = unpack(packed, piece, piece == 1 ? 70'000 : 7);
    EXPECT_TRUE(unpacked.text == text);
    EXPECT_FALSE(unpacked.complaint);
  }
}

TEST_P(Packed, MembersOneAfterAnotherAreOneText) {
  const Unpacked unpacked = unpack(GetParam()("time,node\n") + GetParam()("more\n"));
  EXPECT_EQ(unpacked.text, "time,node\nmore\n");
  EXPECT_FALSE(unpacked.complaint);
}

TEST_P(Packed, ATornEndIsToldAndWhatCameBeforeStands) {
  const std::string text = long_text();
  std::string packed = GetParam()(text);
  packed.resize(packed.size() / 2);
  const Unpacked unpacked = unpack(packed);
  EXPECT_TRUE(text.starts_with(unpacked.text));
  EXPECT_GT(unpacked.text.size(), 0U);
  ASSERT_TRUE(unpacked.complaint);
  EXPECT_THAT(unpacked.complaint->what, HasSubstr("end in the middle"));
}

TEST_P(Packed, DamageIsTold) {
  std::string packed = GetParam()(long_text());
  for (std::size_t i = packed.size() / 3; i < packed.size() / 3 + 50; ++i) packed[i] ^= 0x5A;
  const Unpacked unpacked = unpack(packed);
  ASSERT_TRUE(unpacked.complaint);
  EXPECT_EQ(unpacked.complaint->place.file, "x");
  EXPECT_THAT(unpacked.complaint->what, HasSubstr("damaged"));
}

TEST_P(Packed, SomethingElseBehindIsTold) {
  const Unpacked unpacked = unpack(GetParam()("time,node\n") + "something else");
  EXPECT_EQ(unpacked.text, "time,node\n");
  ASSERT_TRUE(unpacked.complaint);
  // liblzma tells it as damage.
  EXPECT_THAT(unpacked.complaint->what,
              AnyOf(HasSubstr("something that is not compressed"), HasSubstr("damaged")));
}

TEST(Unpacker, WhatIsNotPackedIsLetThrough) {
  for (const std::string& text : {std::string{}, std::string{"t"}, long_text()}) {
    EXPECT_TRUE(unpack(text, 5, 3).text == text);
    EXPECT_FALSE(unpack(text).complaint);
  }
}

}  // namespace
}  // namespace fieldfare::source
