// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <gtest/gtest.h>
#include <unistd.h>

#include <cstdint>
#include <filesystem>
#include <initializer_list>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/store/internal/database.h"
#include "fieldfare/store/store.h"
#include "fieldfare/store/writer.h"

namespace fieldfare::store {

/// For tests: a folder of their own with a store in it, and verbs that work on
/// it. All names and addresses are invented.
class StoreFixture : public testing::Test {
 public:
  StoreFixture(const StoreFixture&) = delete;
  StoreFixture& operator=(const StoreFixture&) = delete;
  ~StoreFixture() override { std::filesystem::remove_all(folder); }

 protected:
  struct Heard {
    std::string node = "024D2100005CE7";
    std::int64_t time_ns = 0;
    std::optional<std::uint64_t> seq{};
    std::string receiver = "r1";
  };

  StoreFixture() {
    std::string pattern = (std::filesystem::temp_directory_path() / "fieldfare-XXXXXX").string();
    folder = ::mkdtemp(pattern.data());
    file = folder / "fieldfare.db";
  }

  Store opened(Mode mode = Mode::write, Options options = {}) const {
    auto store = Store::open(file, mode, options);
    if (!store) throw std::runtime_error{store.error().text()};
    return std::move(*store);
  }

  std::string complaint_of_opening(Mode mode, Options options = {}) const {
    const auto store = Store::open(file, mode, options);
    return store ? "" : store.error().text();
  }

  fleet::Hearing hearing(const Heard& heard) {
    fleet::Hearing made;
    made.node = *labels.node(heard.node);
    made.receiver = *labels.receiver(heard.receiver);
    made.time = {heard.time_ns};
    made.sequence = heard.seq;
    return made;
  }

  void append(Writer& writer, const Heard& heard) {
    const Outcome appended = writer.append(hearing(heard), labels);
    ASSERT_TRUE(appended) << appended.error().text();
  }

  Committed commit(Writer& writer) {
    const auto committed = writer.commit(labels);
    EXPECT_TRUE(committed) << committed.error().text();
    return committed ? *committed : Committed{};
  }

  void store_all(Store& store, std::initializer_list<Heard> all) {
    Writer writer{store};
    for (const Heard& heard : all) append(writer, heard);
    commit(writer);
  }

  /// What a scan hands over, with the readings copied.
  struct Found {
    std::int64_t arrival = 0;
    fleet::Hearing hearing;
    std::vector<fleet::Reading> readings;
  };
  std::vector<Found> scanned(Store& store, const Scan& scan = {}) {
    std::vector<Found> found;
    const auto last = store.scan(scan, labels, [&](const StoredHearing& stored) {
      const auto& readings = stored.hearing.readings;
      found.push_back({stored.arrival, stored.hearing, {readings.begin(), readings.end()}});
    });
    EXPECT_TRUE(last) << last.error().text();
    return found;
  }

  std::size_t count(const Scan& scan = {}) {
    Store store = opened(Mode::read);
    return scanned(store, scan).size();
  }

  /// Past the store, as another program would.
  void sql(const std::string& statement) const {
    Database{file, Database::Access::write, {}}.run(statement);
  }
  std::string sql_text(const std::string& query) const {
    Database database{file, Database::Access::read, {}};
    Statement statement = database.prepare(query);
    return statement.step() ? std::string{statement.text(0)} : "nothing";
  }

  std::filesystem::path folder;
  std::filesystem::path file;
  fleet::Labels labels;
};

}  // namespace fieldfare::store
