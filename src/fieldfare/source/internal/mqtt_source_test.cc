// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/mqtt_source.h"

#include <gtest/gtest.h>

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
  };

  void take(const Arrival& arrival) override {
    const std::lock_guard lock{mutex_};
    EXPECT_TRUE(arrival.whole);
    messages_.push_back({.topic = std::string{arrival.topic},
                         .payload = {arrival.octets.begin(), arrival.octets.end()},
                         .ticket = arrival.ticket,
                         .mark = arrival.mark});
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
  // As after a power cut behind the commit: 3 and 4 were stored, their
  // acknowledgements not sent.
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

}  // namespace
}  // namespace fieldfare::source
