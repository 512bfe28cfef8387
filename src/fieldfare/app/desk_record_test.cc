// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_record.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>

namespace fieldfare::app {
namespace {

namespace fs = std::filesystem;

class DeskRecordTest : public testing::Test {
 protected:
  void SetUp() override {
    fs::remove_all(folder_);
    fs::create_directories(folder_);
  }
  void TearDown() override { fs::remove_all(folder_); }

  static wire::LoggedBytes bytes(std::uint8_t octet) {
    return {Instant{1'000'000'000}, "r1", wire::ByteEvent::stream, {octet}, {}};
  }
  static std::vector<wire::LoggedBytes> all_of(const DeskRecord& record) {
    std::vector<wire::LoggedBytes> all;
    EXPECT_TRUE(record.replay([&](const wire::LoggedBytes& logged) { all.push_back(logged); }));
    return all;
  }
  DeskRecord opened() {
    auto record = DeskRecord::open(path());
    EXPECT_TRUE(record);
    return std::move(*record);
  }
  std::string path() const { return (folder_ / "desk.bytes").string(); }
  void put(const std::string& text) const { std::ofstream{path(), std::ios::binary} << text; }
  std::string content() const {
    std::ostringstream text;
    text << std::ifstream{path(), std::ios::binary}.rdbuf();
    return text.str();
  }

 private:
  fs::path folder_ = fs::temp_directory_path() / ("fieldfare-record-" + std::to_string(::getpid()));
};

TEST_F(DeskRecordTest, GivesBackWhatIsWrittenAndWhatWaits) {
  DeskRecord record = opened();
  record.append(bytes(1));
  EXPECT_TRUE(record.write());
  record.append(bytes(2));
  EXPECT_EQ(all_of(record), (std::vector{bytes(1), bytes(2)}));
}

TEST_F(DeskRecordTest, GoesOnWhereAnEarlierRunEnded) {
  {
    DeskRecord record = opened();
    record.append(bytes(1));
    EXPECT_TRUE(record.write());
  }
  DeskRecord record = opened();
  record.append(bytes(2));
  EXPECT_TRUE(record.write());
  EXPECT_EQ(all_of(record), (std::vector{bytes(1), bytes(2)}));
}

TEST_F(DeskRecordTest, CutsOffALastLineThatWasTorn) {
  put(wire::byte_log_line(bytes(1)) + "1970-01-01T00:00:01Z r1 stream 02030405060708090A0B");
  DeskRecord record = opened();
  record.append(bytes(2));
  EXPECT_TRUE(record.write());
  EXPECT_EQ(all_of(record), (std::vector{bytes(1), bytes(2)}));
  EXPECT_EQ(content(), wire::byte_log_line(bytes(1)) + wire::byte_log_line(bytes(2)));
}

TEST_F(DeskRecordTest, RefusesAndKeepsAFileThatIsSomethingElse) {
  for (const std::string& other :
       {std::string{"time,node\nx,y\n"}, std::string{"no line end"}, std::string(2'000'000, 'x')}) {
    put(other);
    const auto record = DeskRecord::open(path());
    ASSERT_FALSE(record);
    EXPECT_EQ(record.error().blame, Blame::input);
    EXPECT_EQ(content(), other);
  }
}

TEST_F(DeskRecordTest, OneProgramAloneWrites) {
  const DeskRecord record = opened();
  EXPECT_FALSE(DeskRecord::open(path()));
}

TEST_F(DeskRecordTest, LeavesNoFileWhereNothingCameIn) {
  DeskRecord record = opened();
  record.append({Instant{1}, "r1", wire::ByteEvent::up, {}, {}});
  EXPECT_TRUE(record.write());
  EXPECT_TRUE(record.remove_if_empty());
  EXPECT_FALSE(fs::exists(path()));
}

TEST_F(DeskRecordTest, KeepsTheFileOnceSomethingWasSaid) {
  DeskRecord record = opened();
  record.append({Instant{1}, "5CE7", wire::ByteEvent::said, {}, "provoke"});
  EXPECT_TRUE(record.write());
  EXPECT_FALSE(record.remove_if_empty());
  EXPECT_TRUE(fs::exists(path()));
}

}  // namespace
}  // namespace fieldfare::app
