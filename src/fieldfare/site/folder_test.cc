// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/folder.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <filesystem>
#include <fstream>
#include <string>

namespace fieldfare::site {
namespace {

namespace fs = std::filesystem;

/// An empty site folder named after the running test, removed at the end.
class TemporaryFolder {
 public:
  TemporaryFolder()
      : path_{fs::path{testing::TempDir()} /
              testing::UnitTest::GetInstance()->current_test_info()->name()} {
    fs::remove_all(path_);
    fs::create_directories(path_ / "sheets");
  }
  ~TemporaryFolder() { fs::remove_all(path_); }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

class SiteFolder : public testing::Test {
 protected:
  void write(const std::string& name, const std::string& text) {
    std::ofstream{root / name, std::ios::binary} << text;
  }

  Result<SiteFiles, Complaint> read() const { return read_site_folder(root.string()); }

  std::string complaint() const {
    const auto files = read();
    return files ? "" : files.error().text();
  }

  TemporaryFolder folder;
  fs::path root = folder.path();
};

TEST_F(SiteFolder, GivesSheetsInTheOrderOfTheirNames) {
  write("site.toml", "site.name = \"x\"");
  write("sheets/b.toml", "b");
  write("sheets/a.toml", "a");
  write("sheets/notes.txt", "not a sheet");
  write("sheets/.#a.toml", "an editor's");
  const auto files = read();
  ASSERT_TRUE(files.has_value());
  EXPECT_EQ(files->folder, root.string());
  EXPECT_EQ(files->site_toml, "site.name = \"x\"");
  ASSERT_EQ(files->sheets.size(), 2u);
  EXPECT_EQ(files->sheets[0].name, "sheets/a.toml");
  EXPECT_EQ(files->sheets[0].text, "a");
  EXPECT_EQ(files->sheets[1].name, "sheets/b.toml");
}

TEST_F(SiteFolder, NeedsNoSheets) {
  fs::remove(root / "sheets");
  write("site.toml", "x");
  const auto files = read();
  ASSERT_TRUE(files.has_value());
  EXPECT_TRUE(files->sheets.empty());
}

TEST_F(SiteFolder, ThatIsNotThereIsSaidToBe) {
  const auto files = read_site_folder((root / "none").string());
  ASSERT_FALSE(files.has_value());
  EXPECT_EQ(files.error().text(), (root / "none").string() +
                                      ": there is no such folder; expected a site folder, as "
                                      "`fieldfare new` makes one");
  write("file", "x");
  EXPECT_EQ(read_site_folder((root / "file").string()).error().what, "not a folder");
}

TEST_F(SiteFolder, WithoutSiteTomlNamesTheFile) {
  EXPECT_EQ(complaint(), (root / "site.toml").string() + ": No such file or directory");
}

TEST_F(SiteFolder, FollowsALinkToAFileButNotToADevice) {
  write("real.toml", "linked");
  fs::create_symlink(root / "real.toml", root / "site.toml");
  const auto files = read();
  ASSERT_TRUE(files.has_value());
  EXPECT_EQ(files->site_toml, "linked");
  fs::create_symlink("/dev/zero", root / "sheets" / "z.toml");
  EXPECT_EQ(complaint(),
            (root / "sheets" / "z.toml").string() + ": not a regular file; expected a TOML file");
}

TEST_F(SiteFolder, DoesNotWaitForAPipe) {
  ASSERT_EQ(::mkfifo((root / "site.toml").c_str(), 0600), 0);
  EXPECT_EQ(complaint(),
            (root / "site.toml").string() + ": not a regular file; expected a TOML file");
}

TEST_F(SiteFolder, DoesNotFollowALinkToItself) {
  fs::create_symlink(root / "site.toml", root / "site.toml");
  EXPECT_NE(complaint(), "");
}

TEST_F(SiteFolder, RefusesAHugeFile) {
  write("site.toml", std::string((1U << 20U) + 1, '#'));
  EXPECT_EQ(complaint(), (root / "site.toml").string() +
                             ": the file is too long; expected at most 1048576 bytes");
  write("site.toml", std::string(1U << 20U, '#'));
  EXPECT_EQ(complaint(), "");
}

TEST_F(SiteFolder, RefusesMoreThanAThousandSheets) {
  write("site.toml", "");
  for (int i = 0; i <= 1000; ++i) write("sheets/" + std::to_string(i) + ".toml", "");
  EXPECT_EQ(complaint(), (root / "sheets").string() + ": too many sheets; expected at most 1000");
}

}  // namespace
}  // namespace fieldfare::site
