// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/mqtt_source.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <csignal>
#include <map>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "fieldfare/source/loop.h"
#include "fieldfare/source/test_support_mqtt.h"

namespace fieldfare::source {
namespace {

using namespace std::chrono_literals;
using std::chrono::milliseconds;
using test::TestBroker;
using test::TestPublisher;

Instant wall_clock() {
  return {std::chrono::duration_cast<std::chrono::nanoseconds>(
              std::chrono::system_clock::now().time_since_epoch())
              .count()};
}

/// Keeps what a source hands over.
class Ear : public Sink {
 public:
  struct Message {
    std::string topic;
    std::string payload;
    std::uint64_t ticket = 0;
    std::uint64_t mark = 0;
    bool held_back = false;
  };

  void take(const Arrival& arrival) override {
    const std::lock_guard lock{mutex_};
    EXPECT_TRUE(arrival.whole);
    messages_.push_back({.topic = std::string{arrival.topic},
                         .payload = {arrival.octets.begin(), arrival.octets.end()},
                         .ticket = arrival.ticket,
                         .mark = arrival.mark,
                         .held_back = arrival.held_back});
    news_.notify_all();
  }
  void change(const Change& change) override {
    const std::lock_guard lock{mutex_};
    changes_.push_back(change);
    news_.notify_all();
  }
  void repeated(Instant, std::size_t) override {
    const std::lock_guard lock{mutex_};
    ++repeated_;
    news_.notify_all();
  }
  void overrun(Instant, const std::string& what) override {
    const std::lock_guard lock{mutex_};
    overruns_.push_back(what);
    news_.notify_all();
  }

  bool wait_for_messages(std::size_t count, milliseconds time = 15s) {
    return wait(time, [&] { return messages_.size() >= count; });
  }
  bool wait_for_changes(std::size_t count, milliseconds time = 15s) {
    return wait(time, [&] { return changes_.size() >= count; });
  }
  /// That it is up, after at least so many changes before.
  bool wait_for_up(std::size_t changes, milliseconds time = 15s) {
    return wait(time, [&] {
      return changes_.size() > changes && changes_.back().condition == Condition::up;
    });
  }
  bool wait_for_repeats(std::size_t count, milliseconds time = 15s) {
    return wait(time, [&] { return repeated_ >= count; });
  }

  std::vector<Message> messages() const {
    const std::lock_guard lock{mutex_};
    return messages_;
  }
  std::vector<Change> changes() const {
    const std::lock_guard lock{mutex_};
    return changes_;
  }
  std::size_t repeats() const {
    const std::lock_guard lock{mutex_};
    return repeated_;
  }
  std::vector<std::string> overruns() const {
    const std::lock_guard lock{mutex_};
    return overruns_;
  }
  std::vector<std::uint64_t> marks() const {
    std::vector<std::uint64_t> marks;
    for (const Message& message : messages()) marks.push_back(message.mark);
    return marks;
  }
  std::string last_change() const {
    const auto all = changes();
    return all.empty() ? "" : all.back().what + " | " + all.back().remedy;
  }

 private:
  template <class Predicate>
  bool wait(milliseconds time, Predicate predicate) {
    std::unique_lock lock{mutex_};
    return news_.wait_for(lock, time, predicate);
  }

  mutable std::mutex mutex_;
  std::condition_variable news_;
  std::vector<Message> messages_;
  std::vector<Change> changes_;
  std::vector<std::string> overruns_;
  std::size_t repeated_ = 0;
};

/// A source on a thread of its own, as a program would run it.
class Listening {
 public:
  Listening(const fleet::MqttEndpoint& endpoint, std::vector<std::uint64_t> marks = {},
            const std::string& folder = "")
      : source_{make_mqtt_source(endpoint,
                                 {.base_folder = folder,
                                  .client_id = "fieldfare-test",
                                  .marks = std::move(marks),
                                  .clock = wall_clock},
                                 loop_, ear)} {
    loop_.post([this] { source_->start(); });
    thread_ = std::thread{[this] { loop_.run(); }};
  }
  ~Listening() {
    loop_.post([this] {
      source_->stop();
      loop_.stop();
    });
    thread_.join();
  }
  Listening(const Listening&) = delete;
  Listening& operator=(const Listening&) = delete;

  Source& source() { return *source_; }
  Ear ear;

 private:
  Loop loop_;
  std::unique_ptr<Source> source_;
  std::thread thread_;
};

fleet::MqttEndpoint endpoint_at(std::uint16_t port, unsigned version = 5) {
  fleet::MqttEndpoint endpoint;
  endpoint.host = "127.0.0.1";
  endpoint.port = port;
  endpoint.topic_filter = "dairy/#";
  endpoint.version = version;
  return endpoint;
}

std::string reading(int number) { return "{\"reading\": " + std::to_string(number) + "}"; }

/// How often each payload came.
std::map<std::string, int> counts_of(const std::vector<Ear::Message>& messages) {
  std::map<std::string, int> counts;
  for (const auto& message : messages) ++counts[message.payload];
  return counts;
}

class MqttSourceTest : public testing::TestWithParam<unsigned> {
 protected:
  void SetUp() override {
    if (!TestBroker::is_installed()) GTEST_SKIP() << "mosquitto is not installed";
  }
};

INSTANTIATE_TEST_SUITE_P(Versions, MqttSourceTest, testing::Values(4U, 5U));

TEST_P(MqttSourceTest, MessagesArriveWithTopicTicketAndMark) {
  TestBroker broker;
  broker.start();
  Listening run{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  TestPublisher publisher{broker.port()};
  for (int i = 0; i < 3; ++i) publisher.publish("dairy/parlour", reading(i));
  ASSERT_TRUE(run.ear.wait_for_messages(3)) << broker.log();
  const auto messages = run.ear.messages();
  for (std::size_t i = 0; i < 3; ++i) {
    EXPECT_EQ(messages[i].topic, "dairy/parlour");
    EXPECT_EQ(messages[i].payload, reading(static_cast<int>(i)));
    EXPECT_EQ(messages[i].ticket, i + 1);
    EXPECT_NE(messages[i].mark & 0xFFFF, 0U);
  }
  EXPECT_EQ(run.ear.changes().front().condition, Condition::up);
}

TEST_P(MqttSourceTest, WhatWasNotSettledComesAgainAtTheNextStartAndWhatWasDoesNot) {
  TestBroker broker;
  broker.start();
  {
    Listening run{endpoint_at(broker.port(), GetParam())};
    ASSERT_TRUE(run.ear.wait_for_changes(1));
    TestPublisher publisher{broker.port()};
    for (int i = 0; i < 6; ++i) publisher.publish("dairy/parlour", reading(i));
    ASSERT_TRUE(run.ear.wait_for_messages(6));
    run.source().settle(2);
    std::this_thread::sleep_for(200ms);
  }
  Listening probe{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(probe.ear.wait_for_messages(4)) << broker.log();
  std::this_thread::sleep_for(300ms);
  EXPECT_EQ(probe.ear.messages().front().payload, reading(2));
  EXPECT_EQ(probe.ear.messages().size(), 4U);
}

TEST_P(MqttSourceTest, WhatWasStoredButNotAcknowledgedIsNotHandedOverAgain) {
  TestBroker broker;
  broker.start();
  std::vector<std::uint64_t> marks;
  {
    Listening run{endpoint_at(broker.port(), GetParam())};
    ASSERT_TRUE(run.ear.wait_for_changes(1));
    TestPublisher publisher{broker.port()};
    // Short ones too: the packet identifier tells them apart.
    for (int i = 0; i < 6; ++i) publisher.publish("dairy/parlour", std::to_string(i));
    ASSERT_TRUE(run.ear.wait_for_messages(6));
    marks = run.ear.marks();
  }
  marks.resize(4);
  {
    Listening run{endpoint_at(broker.port(), GetParam()), marks};
    ASSERT_TRUE(run.ear.wait_for_messages(2)) << broker.log();
    EXPECT_TRUE(run.ear.wait_for_repeats(4));
    EXPECT_EQ(counts_of(run.ear.messages()), (std::map<std::string, int>{{"4", 1}, {"5", 1}}));
    run.source().settle(2);
    std::this_thread::sleep_for(200ms);
  }
  // The repeats were acknowledged, too: nothing is left.
  Listening last{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(last.ear.wait_for_changes(1));
  std::this_thread::sleep_for(300ms);
  EXPECT_EQ(last.ear.messages().size() + last.ear.repeats(), 0U);
}

TEST_P(MqttSourceTest, BrokerRestartedUnderLoadLosesNothingAndDoublesNothing) {
  TestBroker broker;
  broker.start();
  Listening run{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  TestPublisher publisher{broker.port()};
  constexpr int kMessages = 1500;
  std::thread settling{[&] {
    for (std::size_t seen = 0; seen < kMessages;) {
      if (!run.ear.wait_for_messages(seen + 1, 20s)) return;
      seen = run.ear.messages().size();
      std::this_thread::sleep_for(5ms);
      run.source().settle(seen);
    }
  }};
  for (int i = 0; i < kMessages; ++i) {
    publisher.publish("dairy/parlour", reading(i));
    if (i % 500 == 300) {
      broker.stop(SIGTERM);
      std::this_thread::sleep_for(100ms);
      broker.start();
    }
    std::this_thread::sleep_for(1ms);
  }
  EXPECT_TRUE(publisher.settled_within(20s));
  EXPECT_TRUE(run.ear.wait_for_messages(kMessages, 20s));
  settling.join();
  std::this_thread::sleep_for(300ms);
  const auto counts = counts_of(run.ear.messages());
  EXPECT_EQ(counts.size(), static_cast<std::size_t>(kMessages));
  for (const auto& [payload, count] : counts) EXPECT_EQ(count, 1) << payload;
  std::size_t gaps = 0;
  for (const Change& change : run.ear.changes()) {
    gaps += change.what.find("the gap of") != std::string::npos ? 1 : 0;
  }
  EXPECT_EQ(gaps, 3U) << run.ear.last_change();
}

TEST_P(MqttSourceTest, ConnectionLostBeforeSettlingBringsTheSameMessagesUnderTheirFirstTickets) {
  TestBroker broker;
  broker.start();
  Listening run{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  {
    TestPublisher publisher{broker.port()};
    for (int i = 0; i < 5; ++i) publisher.publish("dairy/parlour", reading(i));
    ASSERT_TRUE(publisher.settled_within(5s));
  }
  ASSERT_TRUE(run.ear.wait_for_messages(5));
  broker.stop();
  run.source().settle(3);  // while there is nobody to tell
  broker.start();
  EXPECT_TRUE(run.ear.wait_for_repeats(5)) << broker.log();
  run.source().settle(5);
  TestPublisher publisher{broker.port()};
  publisher.publish("dairy/parlour", reading(5));
  ASSERT_TRUE(run.ear.wait_for_messages(6));
  EXPECT_EQ(run.ear.messages().back().ticket, 6U);
  EXPECT_EQ(run.ear.repeats(), 5U);
}

TEST_P(MqttSourceTest, WhatIsPublishedWhileItIsAwayFollows) {
  TestBroker broker;
  broker.start();
  const fleet::MqttEndpoint endpoint = endpoint_at(broker.port(), GetParam());
  {
    Listening first{endpoint};
    ASSERT_TRUE(first.ear.wait_for_changes(1));
  }
  TestPublisher publisher{broker.port()};
  publisher.publish("dairy/parlour", reading(1));
  ASSERT_TRUE(publisher.settled_within(5s));
  Listening second{endpoint, {0x1'0001}};
  ASSERT_TRUE(second.ear.wait_for_messages(1)) << broker.log();
  ASSERT_TRUE(second.ear.wait_for_changes(1));
  EXPECT_NE(second.ear.last_change().find("kept what was sent in the gap since the last run"),
            std::string::npos)
      << second.ear.last_change();
  EXPECT_TRUE(second.ear.messages().front().held_back);
  const auto one_is_live = [&] {
    const auto all = second.ear.messages();
    return std::any_of(all.begin(), all.end(), [](const auto& each) { return !each.held_back; });
  };
  for (int i = 2; i < 60 && !one_is_live(); ++i) {
    publisher.publish("dairy/parlour", reading(i));
    std::this_thread::sleep_for(250ms);
  }
  EXPECT_TRUE(one_is_live());
}

TEST_P(MqttSourceTest, SessionThatTheBrokerForgotIsToldAsAGap) {
  TestBroker broker;
  broker.start();
  Listening run{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  broker.stop(SIGKILL);  // before it wrote anything to disk
  ASSERT_TRUE(run.ear.wait_for_changes(2));
  EXPECT_EQ(run.ear.changes().back().condition, Condition::down);
  broker.start();
  ASSERT_TRUE(run.ear.wait_for_up(2)) << run.ear.last_change();
  EXPECT_NE(run.ear.last_change().find("may be lost"), std::string::npos) << run.ear.last_change();
  EXPECT_NE(run.ear.last_change().find("have the broker keep sessions"), std::string::npos);
}

TEST_P(MqttSourceTest, QosZeroIsHandedOverAndItsGapIsToldAsLost) {
  TestBroker broker;
  broker.start();
  fleet::MqttEndpoint endpoint = endpoint_at(broker.port(), GetParam());
  endpoint.qos = 0;
  Listening run{endpoint};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  {
    TestPublisher publisher{broker.port()};
    publisher.publish("dairy/parlour", reading(1));
    ASSERT_TRUE(run.ear.wait_for_messages(1));
  }
  EXPECT_EQ(run.ear.messages().front().mark, 0U);
  broker.stop();
  broker.start();
  ASSERT_TRUE(run.ear.wait_for_up(2));
  EXPECT_NE(run.ear.last_change().find("is lost: with QoS 0"), std::string::npos)
      << run.ear.last_change();
}

TEST_P(MqttSourceTest, RetainedMessagesAreLeftOutAndLiveOnesAreNot) {
  TestBroker broker;
  broker.start();
  TestPublisher publisher{broker.port()};
  publisher.publish("dairy/parlour", "days old", true);
  ASSERT_TRUE(publisher.settled_within(5s));
  Listening run{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  publisher.publish("dairy/parlour", "live", true);
  ASSERT_TRUE(run.ear.wait_for_messages(1));
  EXPECT_EQ(run.ear.messages().front().payload, "live");
  if (GetParam() == 4) {
    ASSERT_TRUE(run.ear.wait_for_changes(2));
    EXPECT_TRUE(run.ear.last_change().starts_with("1 retained")) << run.ear.last_change();
  }
}

TEST_P(MqttSourceTest, WhilePausedNothingIsTakenAndThenAllOfIt) {
  TestBroker broker;
  broker.start();
  Listening run{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  run.source().pause();
  std::this_thread::sleep_for(100ms);
  TestPublisher publisher{broker.port()};
  publisher.publish("dairy/parlour", "may slip in");  // reading was under way
  ASSERT_TRUE(publisher.settled_within(5s));
  std::this_thread::sleep_for(200ms);
  const std::size_t slipped = run.ear.messages().size();
  for (int i = 0; i < 5; ++i) publisher.publish("dairy/parlour", reading(i));
  ASSERT_TRUE(publisher.settled_within(5s));
  std::this_thread::sleep_for(200ms);
  EXPECT_EQ(run.ear.messages().size(), slipped);
  run.source().resume();
  EXPECT_TRUE(run.ear.wait_for_messages(6));
}

TEST_P(MqttSourceTest, UserAndPasswordLetItInAndWrongOnesAreToldWithoutShowingThem) {
  const test::TestFolder folder;
  const std::string users = folder.write("users", "");
  ASSERT_EQ(std::system(("mosquitto_passwd -b " + users + " milker s3cret").c_str()), 0);
  TestBroker broker{"allow_anonymous false\npassword_file " + users};
  broker.start();
  fleet::MqttEndpoint endpoint = endpoint_at(broker.port(), GetParam());
  endpoint.user = "milker";
  endpoint.password_file = "broker.password";
  std::filesystem::permissions(folder.write("broker.password", "s3cret\r\nsecond line\n"),
                               std::filesystem::perms{0600});
  {
    Listening right{endpoint, {}, folder.path().string()};
    ASSERT_TRUE(right.ear.wait_for_changes(1));
    EXPECT_EQ(right.ear.changes().front().condition, Condition::up) << right.ear.last_change();
    EXPECT_EQ(right.ear.changes().front().remedy, "");
  }
  folder.write("broker.password", "wr0ng\n");
  Listening wrong{endpoint, {}, folder.path().string()};
  ASSERT_TRUE(wrong.ear.wait_for_changes(1));
  EXPECT_EQ(wrong.ear.changes().front().condition, Condition::down);
  EXPECT_EQ(wrong.ear.last_change().find("wr0ng"), std::string::npos);
  EXPECT_NE(wrong.ear.last_change().find("password-file"), std::string::npos)
      << wrong.ear.last_change();
  // Put right, and readable by others: both are seen at the next attempt.
  std::filesystem::permissions(folder.write("broker.password", "s3cret"),
                               std::filesystem::perms{0644});
  ASSERT_TRUE(wrong.ear.wait_for_changes(2));
  EXPECT_EQ(wrong.ear.changes().back().condition, Condition::up);
  EXPECT_NE(wrong.ear.changes().back().remedy.find("chmod 600"), std::string::npos);
}

TEST_P(MqttSourceTest, PasswordOfADescriptorIsReadOnceAndServesReconnecting) {
  const test::TestFolder folder;
  const std::string users = folder.write("users", "");
  ASSERT_EQ(std::system(("mosquitto_passwd -b " + users + " milker s3cret").c_str()), 0);
  TestBroker broker{"allow_anonymous false\npassword_file " + users};
  broker.start();
  std::array<int, 2> pipe{};
  ASSERT_EQ(::pipe(pipe.data()), 0);
  ASSERT_EQ(::write(pipe[1], "s3cret\n", 7), 7);
  ::close(pipe[1]);
  fleet::MqttEndpoint endpoint = endpoint_at(broker.port(), GetParam());
  endpoint.user = "milker";
  endpoint.password_file = "fd:" + std::to_string(pipe[0]);
  Listening run{endpoint};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  EXPECT_EQ(run.ear.changes().front().condition, Condition::up) << run.ear.last_change();
  broker.stop();
  broker.start();
  EXPECT_TRUE(run.ear.wait_for_up(2)) << run.ear.last_change();
  ::close(pipe[0]);
}

TEST(MqttSource, AbsentBrokerIsToldOnceWithARemedyAndFoundWhenItComes) {
  if (!TestBroker::is_installed()) GTEST_SKIP() << "mosquitto is not installed";
  TestBroker broker;
  Listening run{endpoint_at(broker.port())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  std::this_thread::sleep_for(1s);
  ASSERT_EQ(run.ear.changes().size(), 1U);
  EXPECT_NE(run.ear.last_change().find("refuses the connection"), std::string::npos);
  EXPECT_NE(run.ear.last_change().find("is the broker running"), std::string::npos);
  broker.start();
  ASSERT_TRUE(run.ear.wait_for_changes(2));
  EXPECT_EQ(run.ear.changes().back().condition, Condition::up);
}

TEST(MqttSource, UnknownHostIsTold) {
  fleet::MqttEndpoint endpoint = endpoint_at(1883);
  endpoint.host = "no-such-host.invalid";  // RFC 6761: never resolves
  Listening run{endpoint};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  EXPECT_NE(run.ear.last_change().find("no-such-host.invalid"), std::string::npos);
  EXPECT_EQ(run.ear.changes().back().condition, Condition::down);
}

/// A server that gives each connection the next of these answers once it was
/// greeted, and hangs up. It keeps the octet that tells the version it was asked for.
class Stub {
 public:
  explicit Stub(std::vector<std::string> answers)
      : port_{test::free_port()}, answers_{std::move(answers)} {
    listening_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    address.sin_port = htons(port_);
    const int bound = ::bind(listening_, reinterpret_cast<sockaddr*>(&address), sizeof address);
    if (bound != 0 || ::listen(listening_, 5) != 0) throw std::runtime_error{"no stub"};
    thread_ = std::thread{[this] { run(); }};
  }
  ~Stub() {
    ::shutdown(listening_, SHUT_RDWR);
    thread_.join();
    ::close(listening_);
  }
  Stub(const Stub&) = delete;
  Stub& operator=(const Stub&) = delete;

  std::uint16_t port() const { return port_; }
  std::vector<int> versions() const {
    const std::lock_guard lock{mutex_};
    return versions_;
  }

 private:
  void run() {
    for (const std::string& answer : answers_) {
      const int connection = ::accept(listening_, nullptr, nullptr);
      if (connection < 0) return;
      std::array<char, 200> greeting{};
      if (::recv(connection, greeting.data(), greeting.size(), 0) > 8) {
        const std::lock_guard lock{mutex_};
        versions_.push_back(greeting[8]);
      }
      (void)::send(connection, answer.data(), answer.size(), MSG_NOSIGNAL);
      ::close(connection);
    }
  }

  std::uint16_t port_;
  std::vector<std::string> answers_;
  int listening_ = -1;
  mutable std::mutex mutex_;
  std::vector<int> versions_;
  std::thread thread_;
};

using namespace std::string_literals;

TEST(MqttSource, BrokerThatRefusesVersion5IsTriedWith311AndThatIsTold) {
  // CONNACK of 3.1.1 with code 1; then accepted, and the subscription too.
  Stub old_broker{{"\x20\x02\x00\x01"s, "\x20\x02\x00\x00\x90\x03\x00\x01\x01"s}};
  Listening run{endpoint_at(old_broker.port())};
  ASSERT_TRUE(run.ear.wait_for_changes(2));
  EXPECT_EQ(old_broker.versions(), (std::vector<int>{5, 4}));
  EXPECT_NE(run.ear.changes()[0].what.find("does not speak this version"), std::string::npos);
  EXPECT_NE(run.ear.changes()[1].what.find("MQTT 3.1.1, as the broker refuses MQTT 5"),
            std::string::npos);
}

TEST(MqttSource, BrokerThatHangsUpWithoutAWordIsTriedWith311Too) {
  Stub old_broker{{""s, "\x20\x02\x00\x00\x90\x03\x00\x01\x01"s}};
  Listening run{endpoint_at(old_broker.port())};
  ASSERT_TRUE(run.ear.wait_for_changes(2));
  EXPECT_EQ(old_broker.versions(), (std::vector<int>{5, 4}));
  EXPECT_EQ(run.ear.changes()[1].condition, Condition::up);
}

TEST_P(MqttSourceTest, TopicsThatTheBrokersAccessListRefusesAreTold) {
  // mosquitto's plain access files grant every subscription and then send
  // nothing; its plug-in for access lists refuses the subscription itself.
  const std::string plugin = "/usr/lib/x86_64-linux-gnu/mosquitto_dynamic_security.so";
  if (!std::filesystem::exists(plugin)) GTEST_SKIP() << plugin << " is not there";
  const test::TestFolder folder;
  const std::string rules = folder.write("rules.json", R"({
      "defaultACLAccess": {"publishClientSend": true, "publishClientReceive": true,
                           "subscribe": false, "unsubscribe": true},
      "anonymousGroup": "everyone", "groups": [{"groupname": "everyone", "roles": []}],
      "roles": [], "clients": []})");
  TestBroker broker{"plugin " + plugin + "\nplugin_opt_config_file " + rules};
  broker.start();
  Listening run{endpoint_at(broker.port(), GetParam())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  EXPECT_NE(run.ear.last_change().find("the topics 'dairy/#' are refused"), std::string::npos)
      << run.ear.last_change();
  EXPECT_NE(run.ear.last_change().find("access list"), std::string::npos);
}

TEST(MqttSource, ServerThatIsNoBrokerIsTold) {
  Stub web{{"HTTP/1.1 400 Bad Request\r\n\r\n"s + std::string(200, 'x')}};
  Listening run{endpoint_at(web.port())};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  EXPECT_NE(run.ear.last_change().find("is this the port of an MQTT broker?"), std::string::npos)
      << run.ear.last_change();
}

/// Certificates of an invented authority, made with OpenSSL's command.
class MqttTlsTest : public MqttSourceTest {
 protected:
  void SetUp() override {
    MqttSourceTest::SetUp();
    if (IsSkipped()) return;
    make_authority("ca");
    make_authority("other-ca");
    make_certificate("server", "DNS:localhost");
    make_certificate("client", "DNS:client");
    broker_ = std::make_unique<TestBroker>("cafile " + folder_.file("ca.pem") + "\ncertfile " +
                                           folder_.file("server.pem") + "\nkeyfile " +
                                           folder_.file("server.key") + more_);
    broker_->start();
    endpoint_ = endpoint_at(broker_->port(), GetParam());
    endpoint_.host = "localhost";
    endpoint_.tls = true;
    endpoint_.ca_file = "ca.pem";
  }

  void run_openssl(const std::string& arguments) {
    const std::string command =
        "cd " + folder_.path().string() + " && openssl " + arguments + " 2>>openssl.log";
    ASSERT_EQ(std::system(command.c_str()), 0) << command;
  }
  void make_authority(const std::string& name) {
    run_openssl("req -x509 -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -days 2 -subj /CN=" +
                name + " -keyout " + name + ".key -out " + name + ".pem");
  }
  void make_certificate(const std::string& name, const std::string& alternative) {
    run_openssl("req -newkey ec -pkeyopt ec_paramgen_curve:P-256 -nodes -subj /CN=" + name +
                " -keyout " + name + ".key -out " + name + ".csr");
    folder_.write(name + ".ext", "subjectAltName=" + alternative + "\n");
    run_openssl("x509 -req -days 2 -CA ca.pem -CAkey ca.key -CAcreateserial -in " + name +
                ".csr -extfile " + name + ".ext -out " + name + ".pem");
  }
  std::string first_change() {
    Listening run{endpoint_, {}, folder_.path().string()};
    EXPECT_TRUE(run.ear.wait_for_changes(1));
    return run.ear.last_change();
  }

  test::TestFolder folder_;
  std::string more_;
  std::unique_ptr<TestBroker> broker_;
  fleet::MqttEndpoint endpoint_;
};

class MqttClientCertificateTest : public MqttTlsTest {
 protected:
  MqttClientCertificateTest() { more_ = "\nrequire_certificate true"; }
};

INSTANTIATE_TEST_SUITE_P(Versions, MqttTlsTest, testing::Values(5U));
INSTANTIATE_TEST_SUITE_P(Versions, MqttClientCertificateTest, testing::Values(4U, 5U));

TEST_P(MqttTlsTest, MessagesArriveThroughTlsFromTheHostThatTheCertificateNames) {
  Listening run{endpoint_, {}, folder_.path().string()};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  ASSERT_EQ(run.ear.changes().front().condition, Condition::up) << run.ear.last_change();
  const std::string command = "mosquitto_pub -h localhost -p " + std::to_string(broker_->port()) +
                              " --cafile " + folder_.file("ca.pem") +
                              " -q 1 -t dairy/parlour -m hello";
  ASSERT_EQ(std::system(command.c_str()), 0);
  ASSERT_TRUE(run.ear.wait_for_messages(1));
  run.source().settle(1);
  std::this_thread::sleep_for(200ms);
  EXPECT_NE(broker_->log().find("Received PUBACK from fieldfare-test"), std::string::npos);
}

TEST_P(MqttTlsTest, AnotherAuthorityIsRefusedInWords) {
  endpoint_.ca_file = "other-ca.pem";
  const std::string change = first_change();
  EXPECT_NE(change.find("nobody who is trusted here signed"), std::string::npos) << change;
  EXPECT_NE(change.find("other-ca.pem"), std::string::npos) << change;
}

TEST_P(MqttTlsTest, TheSystemsAuthoritiesDoNotVouchForIt) {
  endpoint_.ca_file = "";
  const std::string change = first_change();
  EXPECT_NE(change.find("ca-file"), std::string::npos) << change;
}

TEST_P(MqttTlsTest, AnotherHostNameIsRefusedInWords) {
  endpoint_.host = "127.0.0.1";
  const std::string change = first_change();
  EXPECT_NE(change.find("the broker's certificate is not for '127.0.0.1'"), std::string::npos)
      << change;
}

TEST_P(MqttTlsTest, UnreadableAuthorityIsToldWithItsName) {
  endpoint_.ca_file = "absent.pem";
  EXPECT_NE(first_change().find("absent.pem can't be used"), std::string::npos);
}

TEST_P(MqttTlsTest, PlainMqttOnAPortForTlsIsTold) {
  endpoint_.tls = false;
  const std::string change = first_change();
  EXPECT_NE(change.find("before it answered"), std::string::npos) << change;
  EXPECT_NE(change.find("mqtts"), std::string::npos) << change;
}

TEST_P(MqttClientCertificateTest, OwnCertificateLetsItInAndItsLackIsTold) {
  const std::string refused = first_change();
  EXPECT_NE(refused.find("certificate-file"), std::string::npos) << refused;
  endpoint_.certificate_file = "client.pem";
  endpoint_.key_file = "client.key";
  const std::string accepted = first_change();
  EXPECT_TRUE(accepted.starts_with("listening to")) << accepted;
}

TEST(MqttSource, TlsOnAPlainPortIsTold) {
  if (!TestBroker::is_installed()) GTEST_SKIP() << "mosquitto is not installed";
  TestBroker broker;
  broker.start();
  fleet::MqttEndpoint endpoint = endpoint_at(broker.port());
  endpoint.tls = true;
  Listening run{endpoint};
  ASSERT_TRUE(run.ear.wait_for_changes(1));
  EXPECT_EQ(run.ear.changes().front().condition, Condition::down);
  EXPECT_NE(run.ear.last_change().find("TLS"), std::string::npos) << run.ear.last_change();
}

}  // namespace
}  // namespace fieldfare::source
