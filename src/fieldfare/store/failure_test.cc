// SPDX-License-Identifier: Apache-2.0
// What goes wrong outside: told in words, nothing half-written, and on it goes.

#include <gmock/gmock.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>
#include <thread>

#include "fieldfare/store/internal/store_fixture.h"

namespace fieldfare::store {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

class FailureTest : public StoreFixture {
 protected:
  void append_many(Writer& writer, int rows) {
    for (int row = 0; row < rows; ++row) append(writer, {.time_ns = row, .seq = 1});
  }

  void write_file(const std::string& text) const {
    std::ofstream stream{file};
    stream << text;
  }

  std::string complaint_of_committing(Writer& writer) {
    const auto committed = writer.commit(labels);
    return committed ? "" : committed.error().text();
  }
};

TEST_F(FailureTest, AFullDiskLosesNothingAndTheWriterGoesOnWhenThereIsRoom) {
  {
    Store store = opened();
    store_all(store, {{.time_ns = 1}});
  }
  constexpr std::uint64_t kLittle = 200'000;
  Store store = opened(Mode::write, {.most_bytes = kLittle});
  Writer writer{store};
  append_many(writer, 10'000);
  EXPECT_THAT(complaint_of_committing(writer), AllOf(HasSubstr("full"), HasSubstr("nothing")));
  EXPECT_EQ(writer.pending(), 10'000);
  EXPECT_EQ(count(), 1) << "nothing half-written";
  EXPECT_EQ(sql_text("PRAGMA integrity_check"), "ok");

  // What fits still goes in afterwards.
  writer.discard();
  append_many(writer, 10);
  EXPECT_EQ(commit(writer).last_arrival, 11);
  EXPECT_EQ(count(), 11);
}

TEST_F(FailureTest, WhatCouldNotBeCommittedIsCommittedOnTheNextTry) {
  Store store = opened(Mode::write, {.patience = {}});
  Writer writer{store};
  append_many(writer, 5000);  // more than a stretch
  {
    Database other{file, Database::Access::write, {}};
    const Transaction locked{other, Transaction::Kind::write};
    EXPECT_THAT(complaint_of_committing(writer), HasSubstr("another program is writing"));
    EXPECT_EQ(count(), 0) << "readers are not kept waiting";
  }
  EXPECT_EQ(commit(writer).rows, 5000);
  EXPECT_EQ(count(), 5000);
  EXPECT_EQ(sql_text("SELECT count(*) FROM stretch"), "1");
}

TEST_F(FailureTest, AnotherProcessThatHoldsTheFileForItselfIsToldAndOutlived) {
  Store store = opened(Mode::write, {.patience = {}});
  int held[2];
  int let_go[2];
  ASSERT_TRUE(::pipe(held) == 0 && ::pipe(let_go) == 0);
  const pid_t child = ::fork();
  char byte = 0;
  if (child == 0) {
    Database other{file, Database::Access::write, {}};
    other.run("BEGIN EXCLUSIVE");
    const bool told = ::write(held[1], "x", 1) == 1 && ::read(let_go[0], &byte, 1) == 1;
    ::_exit(told ? 0 : 1);
  }
  ASSERT_EQ(::read(held[0], &byte, 1), 1);
  Writer writer{store};
  append_many(writer, 10);
  writer.listened("loft", {1}, {2});
  for (int attempt = 0; attempt < 3; ++attempt) {
    EXPECT_THAT(complaint_of_committing(writer), HasSubstr("another program is writing"));
  }
  ASSERT_EQ(::write(let_go[1], "x", 1), 1);
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_EQ(status, 0);
  EXPECT_EQ(commit(writer).rows, 10);
  EXPECT_EQ(count(), 10);
  EXPECT_EQ(store.listening()->size(), 1);
  for (const int end : {held[0], held[1], let_go[0], let_go[1]}) ::close(end);
}

TEST_F(FailureTest, AnotherProgramsShortWriteIsWaitedFor) {
  Store store = opened();
  Writer writer{store};
  append_many(writer, 1);
  Database other{file, Database::Access::write, {}};
  other.run("BEGIN IMMEDIATE");
  const pid_t child = ::fork();
  if (child == 0) {
    ::usleep(300'000);
    ::_exit(0);
  }
  // The lock goes away while commit() waits.
  std::thread release{[&] {
    int status = 0;
    ::waitpid(child, &status, 0);
    other.run("ROLLBACK");
  }};
  EXPECT_EQ(commit(writer).rows, 1);
  release.join();
}

TEST_F(FailureTest, FarBehindTheWriterAsksForACommit) {
  Store store = opened();
  Writer writer{store};
  const fleet::Hearing one = hearing({});
  for (std::size_t row = 0; row < Writer::kMostPending; ++row) {
    ASSERT_TRUE(writer.append(one, labels));
  }
  const Outcome refused = writer.append(one, labels);
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text(), HasSubstr("wait to be stored"));
  EXPECT_EQ(writer.pending(), Writer::kMostPending);
}

TEST_F(FailureTest, AStoreOpenedForReadingIsNotWrittenTo) {
  {
    Store store = opened();
    store_all(store, {{}});
  }
  Store store = opened(Mode::read);
  Writer writer{store};
  append_many(writer, 1);
  EXPECT_THAT(complaint_of_committing(writer), HasSubstr("opened for reading"));
  EXPECT_FALSE(store.save_labels(labels));
  EXPECT_FALSE(store.record_event({}, labels));
  EXPECT_FALSE(store.save_checkpoints({}, labels));
}

/// Runs `body` where file permissions count, which they do not for root.
template <class Body>
void as_nobody(Body&& body) {
  const pid_t child = ::fork();
  if (child == 0) {
    constexpr uid_t kNobody = 65'534;
    if (::geteuid() == 0 && ::setuid(kNobody) != 0) ::_exit(2);
    ::_exit(body() ? 0 : 1);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0) << status;
}

TEST_F(FailureTest, AFolderThatCannotBeWrittenIsReadAndOtherwiseToldInWords) {
  {
    Store store = opened();
    store_all(store, {{}});
  }
  ASSERT_FALSE(std::filesystem::exists(file.string() + "-wal")) << "closed stores leave one file";
  ::chmod(file.c_str(), 0444);
  ::chmod(folder.c_str(), 0555);
  as_nobody([&] {
    return count() == 1 &&
           complaint_of_opening(Mode::write).find("opened for writing") != std::string::npos;
  });
  ::chmod(folder.c_str(), 0755);
}

TEST_F(FailureTest, AFolderThatIsNotThereIsToldInWords) {
  file = folder / "nowhere" / "fieldfare.db";
  EXPECT_THAT(complaint_of_opening(Mode::write), HasSubstr("a folder that exists"));
  EXPECT_THAT(complaint_of_opening(Mode::read), HasSubstr("can't be opened"));
}

TEST_F(FailureTest, AFileThatIsNoDatabaseIsLeftAlone) {
  const std::string text(5000, 'x');
  write_file(text);
  EXPECT_THAT(complaint_of_opening(Mode::write), HasSubstr("no database"));
  EXPECT_THAT(complaint_of_opening(Mode::read), HasSubstr("no database"));
  EXPECT_EQ(std::filesystem::file_size(file), text.size());
}

TEST_F(FailureTest, ADatabaseOfAnotherProgramIsLeftAlone) {
  write_file("");
  sql("CREATE TABLE invoice(id INTEGER)");
  EXPECT_THAT(complaint_of_opening(Mode::write), HasSubstr("not made by Fieldfare"));
  EXPECT_THAT(complaint_of_opening(Mode::read), HasSubstr("not made by Fieldfare"));
  EXPECT_EQ(sql_text("SELECT group_concat(name) FROM sqlite_schema"), "invoice");
  EXPECT_EQ(sql_text("PRAGMA journal_mode"), "delete");
}

TEST_F(FailureTest, AnEmptyFileBecomesAStoreWhenWrittenButHoldsNothingToRead) {
  write_file("");
  EXPECT_THAT(complaint_of_opening(Mode::read), HasSubstr("nothing is stored"));
  EXPECT_THAT(complaint_of_opening(Mode::write), IsEmpty());
}

TEST_F(FailureTest, APathWithQuestionMarksAndPercentSignsIsAPath) {
  file = folder / "a ?mode=memory %41#b.db";
  {
    Store store = opened();
    store_all(store, {{}});
  }
  EXPECT_TRUE(std::filesystem::exists(file));
  EXPECT_EQ(count(), 1);
}

}  // namespace
}  // namespace fieldfare::store
