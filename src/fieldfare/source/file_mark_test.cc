// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/file_mark.h"

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <span>
#include <string>

#include "fieldfare/source/internal/file_place.h"

namespace fieldfare::source {
namespace {

std::uint64_t mark_behind(const std::string& text) {
  FilePlace place;
  place.advance({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
  return place.mark();
}

TEST(FileMark, TheMarkBeforeIsThatOfHavingReadLess) {
  const std::string text = "time,node\n2026-03-02T11:00:00Z,02AA\n2026-03-02T11:0";
  const auto path = std::filesystem::temp_directory_path() / "fieldfare-file-mark-test";
  std::ofstream{path} << text;
  const std::uint64_t behind = mark_behind(text);
  EXPECT_EQ(mark_before(path.string(), behind, 15), mark_behind(text.substr(0, text.size() - 15)));
  EXPECT_EQ(mark_before(path.string(), behind, 0), behind);
  EXPECT_FALSE(mark_before(path.string(), behind, text.size() + 1));
  std::filesystem::remove(path);
  EXPECT_FALSE(mark_before(path.string(), behind, 15));
}

}  // namespace
}  // namespace fieldfare::source
