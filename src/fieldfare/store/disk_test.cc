// SPDX-License-Identifier: Apache-2.0
// Real disks: what reaches them, and what happens where they are full.

#include <gmock/gmock.h>
#include <sched.h>
#include <sys/mount.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <cstdio>
#include <fstream>

#include "fieldfare/store/internal/store_fixture.h"
#include "fieldfare/store/internal/store_impl.h"

namespace {
std::atomic<int> syncs = 0;
}

/// Stands before the C library's, so that what SQLite writes through is counted.
extern "C" int fdatasync(int descriptor) {
  ++syncs;
  return static_cast<int>(::syscall(SYS_fdatasync, descriptor));
}

namespace fieldfare::store {
namespace {

using testing::AllOf;
using testing::HasSubstr;

class DiskTest : public StoreFixture {
 protected:
  void append_many(Writer& writer, int rows) {
    for (int row = 0; row < rows; ++row) append(writer, {.time_ns = row, .seq = 1});
  }

  std::string complaint_of_committing(Writer& writer) {
    const auto committed = writer.commit(labels);
    return committed ? "" : committed.error().text();
  }

  enum class Ran : std::uint8_t { well, badly, not_permitted };

  /// Runs `body` in a process of its own, where `folder` is a disk of `size`.
  template <class Body>
  Ran on_a_disk_of(const char* size, Body&& body) {
    std::fflush(nullptr);
    const pid_t child = ::fork();
    if (child == 0) {
      const std::string options = std::string{"size="} + size;
      const bool own_mounts =
          ::unshare(CLONE_NEWNS) == 0 || ::unshare(CLONE_NEWUSER | CLONE_NEWNS) == 0;
      if (!own_mounts || ::mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) != 0 ||
          ::mount("none", folder.c_str(), "tmpfs", 0, options.c_str()) != 0) {
        ::_exit(static_cast<int>(Ran::not_permitted));
      }
      body();
      std::fflush(nullptr);
      ::_exit(static_cast<int>(HasFailure() ? Ran::badly : Ran::well));
    }
    int status = 0;
    ::waitpid(child, &status, 0);
    return WIFEXITED(status) ? static_cast<Ran>(WEXITSTATUS(status)) : Ran::badly;
  }
};

TEST_F(DiskTest, EveryCommitIsWrittenThroughToTheDiskBeforeItReturns) {
  Store store = opened();
  Writer writer{store};
  for (int round = 0; round < 5; ++round) {
    append_many(writer, 1);
    const int before = syncs;
    commit(writer);
    EXPECT_GT(syncs, before) << "round " << round;
  }
  writer.listened("loft", {1}, {2});
  const int before = syncs;
  commit(writer);
  EXPECT_GT(syncs, before);
}

// 2 is FULL: https://www.sqlite.org/pragma.html#pragma_synchronous (from memory). With
// it a write-ahead log loses no commit to a power cut.
TEST_F(DiskTest, IsAskedToSynchroniseFullyInWalMode) {
  { const Store store = opened(); }
  Database database{file, Database::Access::write, {}};
  database.run("PRAGMA synchronous = OFF");
  prepare_for_writing(database, {});
  EXPECT_EQ(database.integer("PRAGMA synchronous"), 2);
  EXPECT_EQ(sql_text("PRAGMA journal_mode"), "wal");
}

TEST_F(DiskTest, FullToTheLastOctetIsToldAndTheSameHearingsGoInWhenThereIsRoom) {
  const Ran ran = on_a_disk_of("2m", [&] {
    Store store = opened();
    store_all(store, {{.time_ns = 1}});
    const std::filesystem::path ballast = folder / "ballast";
    {
      std::ofstream stream{ballast};
      while (stream.write(std::string(4096, 'x').data(), 4096).flush()) {
      }
    }
    Writer writer{store};
    append_many(writer, 5'000);
    writer.listened("loft", {1}, {2});
    for (int attempt = 0; attempt < 3; ++attempt) {
      EXPECT_THAT(complaint_of_committing(writer), AllOf(HasSubstr("full"), HasSubstr("nothing")));
    }
    EXPECT_EQ(writer.pending(), 5'000);
    EXPECT_EQ(count(), 1) << "nothing half-written";

    std::filesystem::remove(ballast);
    EXPECT_EQ(commit(writer).rows, 5'000);
    EXPECT_EQ(count(), 5'001);
    EXPECT_EQ(store.listening()->size(), 1);
    EXPECT_EQ(sql_text("PRAGMA integrity_check"), "ok");
  });
  if (ran == Ran::not_permitted) GTEST_SKIP() << "no small disk can be mounted here";
  EXPECT_EQ(ran, Ran::well);
}

TEST_F(DiskTest, FillingUpWhileHearingsComeLosesNoneThatWasAcknowledged) {
  const Ran ran = on_a_disk_of("1m", [&] {
    std::size_t acknowledged = 0;
    std::string complaint;
    {
      Store store = opened();
      Writer writer{store};
      while (complaint.empty() && acknowledged < 100'000) {
        append_many(writer, 100);
        complaint = complaint_of_committing(writer);
        if (complaint.empty()) acknowledged += 100;
      }
      EXPECT_THAT(complaint, HasSubstr("full"));
      EXPECT_EQ(count(), acknowledged);
    }
    EXPECT_GT(acknowledged, 1'000);
    EXPECT_EQ(count(), acknowledged) << "after it was closed and opened again";
  });
  if (ran == Ran::not_permitted) GTEST_SKIP() << "no small disk can be mounted here";
  EXPECT_EQ(ran, Ran::well);
}

TEST_F(DiskTest, ThatMayOnlyBeReadIsToldInWords) {
  const Ran ran = on_a_disk_of("4m", [&] {
    {
      Store store = opened();
      store_all(store, {{}});
    }
    ASSERT_EQ(::mount("none", folder.c_str(), nullptr, MS_REMOUNT | MS_RDONLY, nullptr), 0);
    EXPECT_THAT(complaint_of_opening(Mode::write), HasSubstr("can't be opened for writing"));
    EXPECT_EQ(count(), 1) << "reading goes on";
    ASSERT_EQ(::mount("none", folder.c_str(), nullptr, MS_REMOUNT, nullptr), 0);
    EXPECT_EQ(complaint_of_opening(Mode::write), "");
  });
  if (ran == Ran::not_permitted) GTEST_SKIP() << "no small disk can be mounted here";
  EXPECT_EQ(ran, Ran::well);
}

}  // namespace
}  // namespace fieldfare::store
