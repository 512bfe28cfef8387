// SPDX-License-Identifier: Apache-2.0
// A program that is killed while it writes.

#include <gmock/gmock.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <map>

#include "fieldfare/base/random.h"
#include "fieldfare/store/internal/store_fixture.h"

namespace fieldfare::store {
namespace {

class CrashTest : public StoreFixture {
 protected:
  /// Appends hearings numbered from `first` in batches, and after each commit
  /// acknowledges how many are stored, until it is killed.
  [[noreturn]] void write_until_killed(std::uint64_t first, int acknowledge) {
    Store store = opened();
    Writer writer{store};
    RandomStream random{first, "batches"};
    for (std::uint64_t next = first;;) {
      for (auto rows = 1 + random.below(300); rows > 0; --rows) {
        fleet::Hearing made = hearing({.time_ns = static_cast<std::int64_t>(next), .seq = next});
        const fleet::Reading reading{*labels.field("temperature_c"), static_cast<double>(next)};
        made.readings = {&reading, 1};
        if (!writer.append(made, labels)) ::_exit(1);
        ++next;
      }
      if (!writer.commit(labels)) ::_exit(2);
      if (::write(acknowledge, &next, sizeof next) != sizeof next) ::_exit(3);
    }
  }

  /// Returns how many hearings the child had acknowledged when it was killed.
  std::uint64_t kill_a_writer_after(std::uint64_t first, std::uint64_t microseconds) {
    int ends[2];
    if (::pipe(ends) != 0) throw std::runtime_error{"no pipe"};
    const pid_t child = ::fork();
    if (child == 0) {
      ::close(ends[0]);
      write_until_killed(first, ends[1]);
    }
    ::close(ends[1]);
    std::uint64_t acknowledged = first;
    std::uint64_t next = 0;
    // It is under way for sure before it is killed.
    if (::read(ends[0], &next, sizeof next) == sizeof next) acknowledged = next;
    ::usleep(static_cast<useconds_t>(microseconds));
    ::kill(child, SIGKILL);
    while (::read(ends[0], &next, sizeof next) == sizeof next) acknowledged = next;
    ::close(ends[0]);
    int status = 0;
    ::waitpid(child, &status, 0);
    EXPECT_TRUE(WIFSIGNALED(status)) << "the writer gave up by itself: " << status;
    return acknowledged;
  }
};

TEST_F(CrashTest, LosesNothingAcknowledgedAndStoresNothingTwice) {
  constexpr int kKills = 20;
  RandomStream random{20, "moments"};
  std::uint64_t stored = 0;
  for (int kill = 0; kill < kKills; ++kill) {
    const std::uint64_t acknowledged = kill_a_writer_after(stored, random.below(60'000));
    Store store = opened(kill % 2 == 0 ? Mode::read : Mode::write);
    std::map<std::uint64_t, int> seen;
    for (const Found& found : scanned(store, {.with_readings = true})) {
      ++seen[*found.hearing.sequence];
      ASSERT_EQ(found.readings.size(), 1);
      ASSERT_EQ(found.readings[0].value, static_cast<double>(*found.hearing.sequence));
    }
    // The last batch may be stored without its acknowledgement having got out.
    ASSERT_GE(seen.size(), acknowledged) << "kill " << kill;
    stored = seen.size();
    std::uint64_t expected = 0;
    for (const auto& [sequence, times] : seen) {
      ASSERT_EQ(sequence, expected++);
      ASSERT_EQ(times, 1);
    }
  }
  EXPECT_GT(stored, 1000U);
  EXPECT_EQ(sql_text("PRAGMA integrity_check"), "ok");
}

}  // namespace
}  // namespace fieldfare::store
