// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/mqtt_session.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace fieldfare::source::mqtt {
namespace {

using std::chrono::seconds;

class Ear : public Sink {
 public:
  void take(const Arrival& arrival) override {
    payloads.emplace_back(arrival.octets.begin(), arrival.octets.end());
    marks.push_back(arrival.mark);
    tickets.push_back(arrival.ticket);
  }
  void change(const Change&) override {}
  void repeated(Instant, std::size_t) override { ++repeats; }
  void overrun(Instant, const std::string& what) override { overruns.push_back(what); }

  std::vector<std::string> payloads;
  std::vector<std::uint64_t> marks;
  std::vector<std::uint64_t> tickets;
  std::vector<std::string> overruns;
  int repeats = 0;
};

struct Told {
  std::string payload;
  std::uint16_t id = 0;
  bool dup = false;
  bool retain = false;
};

/// A session with the test in the place of the broker; all invented.
class SessionTest : public testing::Test {
 protected:
  void connect(bool session_kept, Version version = Version::v5) {
    version_ = version;
    Session::Login login;
    login.version = version;
    login.client_id = "listener";
    session_->begin(login, now_);
    Octets ack{0x20, 2, session_kept, 0};
    if (version == Version::v5) ack = {0x20, 3, session_kept, 0, 0};
    ASSERT_FALSE(session_->receive(ack, now_));
    Octets suback{0x90, 3, 0, 1, 1};
    if (version == Version::v5) suback = {0x90, 4, 0, 1, 0, 1};
    ASSERT_FALSE(session_->receive(suback, now_));
    ASSERT_TRUE(session_->subscribed());
    session_->take_output();
  }

  void tell(const Told& told) {
    Octets octets;
    append_publish(octets,
                   {.topic = "dairy/tank",
                    .payload = {reinterpret_cast<const std::uint8_t*>(told.payload.data()),
                                told.payload.size()},
                    .qos = static_cast<std::uint8_t>(told.id == 0 ? 0 : 1),
                    .dup = told.dup,
                    .retain = told.retain,
                    .id = told.id},
                   version_);
    ASSERT_FALSE(session_->receive(octets, now_));
  }

  /// Packet identifiers that were acknowledged since the last call.
  std::vector<int> acknowledged() {
    std::vector<int> ids;
    const Octets output = session_->take_output();
    for (std::size_t i = 0; i + 4 <= output.size(); i += 4) {
      EXPECT_EQ(output[i], 0x40);
      ids.push_back(output[i + 2] << 8 | output[i + 3]);
    }
    return ids;
  }

  void restart_with(std::vector<std::uint64_t> marks) {
    session_ = std::make_unique<Session>("dairy/#", 1,
                                         Setting{.base_folder = {},
                                                 .client_id = {},
                                                 .marks = std::move(marks),
                                                 .clock = [] { return Instant{}; }},
                                         ear_);
  }

  void SetUp() override { restart_with({}); }

  Ear ear_;
  std::unique_ptr<Session> session_;
  Moment now_{};
  Version version_ = Version::v5;
};

using Ids = std::vector<int>;
using Payloads = std::vector<std::string>;

TEST_F(SessionTest, AcknowledgesOnlyWhatIsSettledAndInTheOrderOfArrival) {
  connect(false);
  tell({.payload = "one", .id = 7});
  tell({.payload = "two", .id = 3});
  tell({.payload = "three", .id = 9});
  EXPECT_EQ(acknowledged(), Ids{});
  session_->settle(2);
  EXPECT_EQ(acknowledged(), (Ids{7, 3}));
  session_->settle(3);
  EXPECT_EQ(acknowledged(), Ids{9});
}

TEST_F(SessionTest, QosZeroIsHandedOverWithoutMarkAndNeverAcknowledged) {
  connect(false);
  tell({.payload = "one"});
  session_->settle(1);
  EXPECT_EQ(ear_.marks, std::vector<std::uint64_t>{0});
  EXPECT_EQ(acknowledged(), Ids{});
}

TEST_F(SessionTest, MessageSentAgainKeepsItsFirstTicketUntilThatIsSettled) {
  connect(false);
  tell({.payload = "one", .id = 7});
  session_->end();
  connect(true);
  tell({.payload = "one", .id = 7, .dup = true});
  tell({.payload = "two", .id = 8});
  EXPECT_EQ(ear_.payloads, (Payloads{"one", "two"}));
  EXPECT_EQ(ear_.repeats, 1);
  EXPECT_EQ(acknowledged(), Ids{});
  session_->settle(1);
  EXPECT_EQ(acknowledged(), Ids{7});
}

TEST_F(SessionTest, AcknowledgementsOfALostConnectionAreNotSentOnTheNext) {
  connect(false);
  tell({.payload = "one", .id = 7});
  session_->end();
  connect(true);
  session_->settle(1);
  EXPECT_EQ(acknowledged(), Ids{});
}

TEST_F(SessionTest, MessageStoredInAnEarlierRunIsAcknowledgedAtOnceAndLeftOut) {
  connect(false);
  tell({.payload = "one", .id = 7});
  restart_with(ear_.marks);
  connect(true);
  tell({.payload = "one", .id = 7, .dup = true});
  EXPECT_EQ(acknowledged(), Ids{7});
  EXPECT_EQ(ear_.repeats, 1);
  EXPECT_EQ(ear_.payloads.size(), 1U);
}

TEST_F(SessionTest, DupAloneMakesNoRepeat) {
  connect(true);
  tell({.payload = "one", .id = 7, .dup = true});
  EXPECT_EQ(ear_.payloads.size(), 1U);
}

TEST_F(SessionTest, EqualMessageUnderAnotherIdentifierIsARepeatOnceAfterReconnecting) {
  connect(false);
  tell({.payload = "longer than 8", .id = 7});
  session_->end();
  connect(true);
  tell({.payload = "longer than 8", .id = 8});
  EXPECT_EQ(ear_.repeats, 1);
  tell({.payload = "longer than 8", .id = 9});
  EXPECT_EQ(ear_.repeats, 1);
  EXPECT_EQ(ear_.payloads.size(), 2U);
}

TEST_F(SessionTest, CopyOfWhatTheBrokerHadKeptIsARepeat) {
  connect(true);
  tell({.payload = "longer than 8", .id = 7});
  tell({.payload = "longer than 8", .id = 8});
  EXPECT_EQ(ear_.repeats, 1);
}

TEST_F(SessionTest, EqualMessagesOnOneConnectionAreBothTrue) {
  connect(false);
  tell({.payload = "longer than 8", .id = 7});
  tell({.payload = "longer than 8", .id = 8});
  EXPECT_EQ(ear_.payloads.size(), 2U);
}

TEST_F(SessionTest, ShortEqualMessagesAreBothTrueEvenAfterReconnecting) {
  connect(false);
  tell({.payload = "12345678", .id = 7});
  session_->end();
  connect(true);
  tell({.payload = "12345678", .id = 8});
  EXPECT_EQ(ear_.payloads.size(), 2U);
}

TEST_F(SessionTest, AMinuteAfterReconnectingEqualMessagesAreBothTrue) {
  connect(false);
  tell({.payload = "longer than 8", .id = 7});
  session_->end();
  connect(true);
  now_ += kFresh;
  tell({.payload = "longer than 8", .id = 8});
  EXPECT_EQ(ear_.payloads.size(), 2U);
}

TEST_F(SessionTest, RetainedMessagesAreAcknowledgedCountedAndLeftOut) {
  connect(false, Version::v3_1_1);
  tell({.payload = "days old", .id = 7, .retain = true});
  EXPECT_EQ(acknowledged(), Ids{7});
  EXPECT_EQ(session_->take_retained(), 1U);
  EXPECT_TRUE(ear_.payloads.empty());
}

TEST_F(SessionTest, HugeMessageIsAcknowledgedToldAndLeftOut) {
  connect(false);
  tell({.payload = std::string(kLargestPacket + 1, 'x'), .id = 7});
  tell({.payload = "one", .id = 8});
  EXPECT_EQ(acknowledged(), Ids{7});
  EXPECT_EQ(ear_.overruns.size(), 1U);
  EXPECT_EQ(ear_.payloads, Payloads{"one"});
}

TEST_F(SessionTest, RemembersAllThatIsUnderWayHoweverMany) {
  connect(false);
  const int many = static_cast<int>(kMostMarks) * 3;
  for (int i = 1; i <= many; ++i) {
    tell({.payload = std::to_string(i), .id = static_cast<std::uint16_t>(i)});
  }
  session_->end();
  connect(true);
  tell({.payload = "1", .id = 1, .dup = true});
  EXPECT_EQ(ear_.repeats, 1);
}

TEST_F(SessionTest, PingsAndGivesUpABrokerThatDoesNotAnswer) {
  connect(false);
  now_ += kPingEvery - seconds{1};
  EXPECT_FALSE(session_->tick(now_));
  EXPECT_FALSE(session_->has_output());
  now_ += seconds{1};
  EXPECT_FALSE(session_->tick(now_));
  EXPECT_EQ(session_->take_output(), (Octets{0xC0, 0}));
  EXPECT_FALSE(session_->receive(Octets{0xD0, 0}, now_));
  now_ += kPingEvery;
  EXPECT_FALSE(session_->tick(now_));
  now_ += kPingAnswer;
  const auto trouble = session_->tick(now_);
  ASSERT_TRUE(trouble);
  EXPECT_EQ(trouble->what, "the broker stopped answering");
}

TEST_F(SessionTest, WhilePausedItKeepsPingingAndExpectsNoAnswer) {
  connect(false);
  session_->set_paused(true);
  for (int i = 0; i < 10; ++i) {
    now_ += kPingEvery;
    EXPECT_FALSE(session_->tick(now_));
    EXPECT_EQ(session_->take_output(), (Octets{0xC0, 0}));
  }
  session_->set_paused(false);
  EXPECT_FALSE(session_->tick(now_));
}

TEST_F(SessionTest, RefusalsAreToldInWordsOfTheirVersionWithARemedy) {
  struct Row {
    Version version;
    Octets answer;
    const char* what;
    bool version_refused;
  };
  // Codes: MQTT 3.1.1 table 3.1 (from memory) and MQTT 5.0 table 2-6 (from memory).
  const Row rows[] = {
      {Version::v3_1_1, {0x20, 2, 0, 5}, "the broker does not let this client in", false},
      {Version::v5,
       {0x20, 3, 0, 0x86, 0},
       "the broker does not accept the user name or the password",
       false},
      {Version::v5, {0x20, 2, 0, 1}, "the broker does not speak this version of MQTT", true},
      {Version::v5, {0x20, 3, 0, 0x84, 0}, "the broker does not speak this version of MQTT", true},
      {Version::v5,
       {0x20, 7, 0, 0x87, 4, 0x1F, 0, 1, '\x1B'},
       "the broker does not let this client do that: \\x1B",
       false},
  };
  for (const Row& row : rows) {
    Session::Login login;
    login.version = row.version;
    session_->begin(login, now_);
    const auto trouble = session_->receive(row.answer, now_);
    ASSERT_TRUE(trouble) << row.what;
    EXPECT_EQ(trouble->what, row.what);
    EXPECT_EQ(trouble->version_refused, row.version_refused);
  }
}

TEST_F(SessionTest, RefusedTopicsAreToldWithTheFilter) {
  Session::Login login;
  session_->begin(login, now_);
  ASSERT_FALSE(session_->receive(Octets{0x20, 3, 0, 0, 0}, now_));
  const auto trouble = session_->receive(Octets{0x90, 4, 0, 1, 0, 0x87}, now_);
  ASSERT_TRUE(trouble);
  EXPECT_NE(trouble->what.find("'dairy/#'"), std::string::npos);
  EXPECT_NE(trouble->remedy.find("access list"), std::string::npos);
}

TEST_F(SessionTest, NothingButAnAnswerMayComeFirst) {
  Session::Login login;
  session_->begin(login, now_);
  EXPECT_TRUE(session_->receive(Octets{0xD0, 0}, now_));
}

TEST_F(SessionTest, SessionTakenOverIsToldWithItsReason) {
  connect(false);
  const auto trouble = session_->receive(Octets{0xE0, 1, 0x8E}, now_);
  ASSERT_TRUE(trouble);
  EXPECT_NE(trouble->remedy.find("client-id"), std::string::npos);
}

}  // namespace
}  // namespace fieldfare::source::mqtt
