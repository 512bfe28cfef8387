// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/calc/internal/cmac.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <string>

namespace fieldfare::calc {
namespace {

// The key of RFC 4493's examples and the tag of the empty message.
constexpr std::string_view kKeyHex = "2b7e151628aed2a6abf7158809cf4f3c";
const std::string kKeyRaw{"\x2b\x7e\x15\x16\x28\xae\xd2\xa6\xab\xf7\x15\x88\x09\xcf\x4f\x3c", 16};
constexpr Mac kTagOfNothing = {0xBB, 0x1D, 0x69, 0x29, 0xE9, 0x59, 0x37, 0x28,
                               0x7F, 0xA3, 0x7D, 0x12, 0x9B, 0x75, 0x67, 0x46};

class AesCmac : public testing::Test {
 protected:
  AesCmac() : path_{(std::filesystem::path{testing::TempDir()} / "fieldfare_cmac.key").string()} {}
  ~AesCmac() override { std::filesystem::remove(path_); }

  Result<Mac, std::string> with_key_file(std::string_view content) {
    std::ofstream{path_, std::ios::binary} << content;
    return aes_cmac(path_, {});
  }

  std::string path_;
};

TEST_F(AesCmac, TakesTheKeyAsHexWithOrWithoutALineEndAndAsOctets) {
  const std::string hex{kKeyHex};
  for (const std::string& content : {hex, hex + '\n', hex + "\r\n", "  " + hex + '\n', kKeyRaw}) {
    const auto mac = with_key_file(content);
    ASSERT_TRUE(mac) << mac.error();
    EXPECT_EQ(*mac, kTagOfNothing);
  }
}

TEST_F(AesCmac, RefusesEveryOtherFileWithoutShowingWhatItHolds) {
  const std::string hex{kKeyHex};
  for (const std::string& content :
       {std::string{}, hex.substr(1), hex + "00", "zz" + hex.substr(2), "2:" + hex.substr(2),
        kKeyRaw + '\n', std::string(100'000, 'A'), std::string{"\n\n\n"}}) {
    const auto mac = with_key_file(content);
    ASSERT_FALSE(mac);
    EXPECT_EQ(mac.error(),
              "the key file `" + path_ + "` must hold 32 hex digits or exactly 16 octets");
  }
}

TEST_F(AesCmac, SaysThatAFileCannotBeOpened) {
  const auto mac = aes_cmac(path_ + ".absent", {});
  ASSERT_FALSE(mac);
  EXPECT_NE(mac.error().find("cannot open"), std::string::npos);
}

}  // namespace
}  // namespace fieldfare::calc
