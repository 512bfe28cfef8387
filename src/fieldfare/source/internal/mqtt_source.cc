// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/mqtt_source.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <chrono>
#include <utility>

#include "fieldfare/source/internal/asio.h"
#include "fieldfare/source/internal/mqtt_link.h"
#include "fieldfare/source/internal/mqtt_secret.h"
#include "fieldfare/source/internal/mqtt_session.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source {
namespace {

using mqtt::Moment;
using mqtt::Trouble;
using mqtt::Version;
using std::chrono::milliseconds;
using std::chrono::seconds;

constexpr milliseconds kFirstPause{200};
constexpr milliseconds kLongestPause{5000};
/// A connection that held this long was a good one: after it, the first pause again.
constexpr seconds kGood{5};
/// For finding the host, connecting, TLS, and the answer to our subscription.
constexpr seconds kPatience{10};
constexpr milliseconds kTick{500};
constexpr std::size_t kReadOctets = std::size_t{64} * 1024;

Moment now() { return std::chrono::steady_clock::now(); }

fleet::MqttEndpoint with_folder(fleet::MqttEndpoint endpoint, const std::string& folder) {
  for (std::string* name : {&endpoint.ca_file, &endpoint.certificate_file, &endpoint.key_file}) {
    if (!name->empty()) *name = mqtt::within(folder, *name);
  }
  std::string& secret = endpoint.password_file;
  if (!secret.empty() && !secret.starts_with("fd:")) secret = mqtt::within(folder, secret);
  return endpoint;
}

std::string name_of(Version version) { return version == Version::v5 ? "MQTT 5" : "MQTT 3.1.1"; }

/// Seconds to three digits at most: `0.4 s`, `12 s`.
std::string span_text(Duration span) {
  const auto tenths = std::max<std::int64_t>(0, span.ns / 100'000'000);
  std::string text = std::to_string(tenths / 10);
  if (tenths < 100) text += "." + std::to_string(tenths % 10);
  return text + " s";
}

/// Keeps the connection up. Held by those who wait for something on it, so it
/// stays until they were told that it ended.
class Listener : public std::enable_shared_from_this<Listener> {
 public:
  Listener(const fleet::MqttEndpoint& endpoint, Setting setting, Loop& loop, Sink& sink)
      : endpoint_{with_folder(endpoint, setting.base_folder)},
        client_id_{endpoint.client_id.empty() ? setting.client_id : endpoint.client_id},
        clock_{setting.clock},
        sink_{sink},
        io_{loop.impl().io},
        version_{endpoint.version == 4 ? Version::v3_1_1 : Version::v5},
        had_earlier_run_{!setting.marks.empty()},
        session_{endpoint.topic_filter, endpoint.qos, std::move(setting), sink},
        tick_{io_},
        retry_{io_} {}

  void start() {
    tick();
    attempt();
  }

  void stop() {
    if (stopped_) return;
    stopped_ = true;
    tick_.cancel();
    retry_.cancel();
    if (!link_) return;
    session_.settle(settled_.load());
    session_.leave();
    // What is under way must not be torn in two.
    if (!writing_) link_->write_now(session_.take_output());
    hang_up();
  }

  void settle(std::uint64_t ticket) {
    std::uint64_t known = settled_.load();
    while (known < ticket && !settled_.compare_exchange_weak(known, ticket)) {
    }
    // One task is enough for many that come before it runs.
    if (settle_posted_.exchange(true)) return;
    asio::post(io_, [self = shared_from_this()] {
      self->settle_posted_ = false;
      self->session_.settle(self->settled_.load());
      self->flush();
    });
  }

  void pause(bool paused) {
    asio::post(io_, [self = shared_from_this(), paused] {
      self->paused_ = paused;
      self->session_.set_paused(paused);
      self->read();
    });
  }

 private:
  using LinkPtr = std::shared_ptr<mqtt::Link>;

  void tick();
  void attempt();
  void opened(const LinkPtr& link, std::optional<Trouble> trouble);
  void read();
  Trouble trouble_of(const std::error_code& error) const;
  void received(std::size_t size);
  void flush();
  void drop(const Trouble& trouble);
  void hang_up();
  void retry_later();
  void take_other_version(const Trouble& trouble);
  std::optional<Trouble> login(mqtt::Session::Login& login);
  void tell_up();
  std::string gap_text() const;
  std::string advice() const;
  void tell_down(const Trouble& trouble);
  void tell_retained();
  bool is_current(const LinkPtr& link) const { return !stopped_ && link == link_; }

  fleet::MqttEndpoint endpoint_;
  std::string client_id_;
  Clock clock_;
  Sink& sink_;
  asio::io_context& io_;
  Version version_;
  bool had_earlier_run_;
  mqtt::Session session_;
  asio::steady_timer tick_;
  asio::steady_timer retry_;
  std::atomic<std::uint64_t> settled_ = 0;
  std::atomic<bool> settle_posted_ = false;

  LinkPtr link_;
  std::array<std::uint8_t, kReadOctets> input_{};
  mqtt::Octets output_;
  bool reading_ = false;
  bool writing_ = false;
  bool paused_ = false;
  bool stopped_ = false;
  Moment attempted_at_;
  Moment up_at_;
  milliseconds pause_ = kFirstPause;
  std::optional<std::string> secret_of_descriptor_;
  std::string note_;              ///< about the password file
  bool version_settled_ = false;  ///< the broker said itself what it doesn't speak
  bool told_up_ = false;
  bool had_session_ = false;  ///< this run was up before
  std::optional<std::string> told_down_;
  std::optional<Instant> down_since_;
  std::uint64_t retained_ = 0;
};

void Listener::tick() {
  tick_.expires_after(kTick);
  tick_.async_wait([self = shared_from_this()](const std::error_code& error) {
    if (error || self->stopped_) return;
    self->tick();
    if (!self->link_) return;
    self->tell_retained();
    if (!self->told_up_ && now() - self->attempted_at_ > kPatience && !self->paused_) {
      return self->drop(
          {.what = "the broker did not answer for " + std::to_string(kPatience.count()) + " s",
           .remedy = "is this the port of an MQTT broker? check the network"});
    }
    if (auto trouble = self->session_.tick(now())) return self->drop(*trouble);
    self->flush();
  });
}

void Listener::attempt() {
  attempted_at_ = now();
  link_ = std::make_shared<mqtt::Link>(endpoint_, io_);
  link_->open([self = shared_from_this(), link = link_](std::optional<Trouble> trouble) {
    self->opened(link, std::move(trouble));
  });
}

void Listener::opened(const LinkPtr& link, std::optional<Trouble> trouble) {
  if (!is_current(link)) return;
  mqtt::Session::Login login;
  login.version = version_;
  login.client_id = client_id_;
  if (!trouble) trouble = this->login(login);
  if (trouble) return drop(*trouble);
  session_.begin(std::move(login), now());
  flush();
  read();
}

std::optional<Trouble> Listener::login(mqtt::Session::Login& login) {
  if (!endpoint_.user.empty()) login.user = endpoint_.user;
  if (endpoint_.password_file.empty()) return std::nullopt;
  if (secret_of_descriptor_) {
    login.password = secret_of_descriptor_;
    return std::nullopt;
  }
  auto secret = mqtt::read_secret(endpoint_.password_file);
  if (!secret) {
    return Trouble{.what = secret.error(),
                   .remedy =
                       "put the password into the first line of that file, readable by the "
                       "user who runs this"};
  }
  note_ = secret->note;
  login.password = std::move(secret->text);
  if (endpoint_.password_file.starts_with("fd:")) secret_of_descriptor_ = login.password;
  return std::nullopt;
}

void Listener::read() {
  if (!link_ || reading_ || paused_ || stopped_) return;
  reading_ = true;
  link_->read_some(input_, [self = shared_from_this(), link = link_](const std::error_code& error,
                                                                     std::size_t size) {
    if (!self->is_current(link)) return;
    self->reading_ = false;
    if (error) {
      return self->drop(self->trouble_of(error));
    }
    self->received(size);
  });
}

Trouble Listener::trouble_of(const std::error_code& error) const {
  Trouble trouble = mqtt::Link::trouble_of(error);
  trouble.unanswered = !session_.connected();
  if (trouble.unanswered && trouble.remedy.empty()) {
    trouble.what += " before it answered";
    trouble.remedy = endpoint_.tls ? "is this the port of an MQTT broker?"
                                   : "if this is the broker's port for TLS, write mqtts: for mqtt:";
  }
  return trouble;
}

void Listener::received(std::size_t size) {
  const std::span<const std::uint8_t> octets{input_.data(), size};
  auto trouble = session_.receive(octets, now());
  if (stopped_) return;  // by the sink
  if (trouble) return drop(*trouble);
  if (session_.subscribed() && !told_up_) tell_up();
  flush();
  read();
}

void Listener::flush() {
  if (!link_ || writing_ || !session_.has_output()) return;
  writing_ = true;
  output_ = session_.take_output();
  link_->write(output_, [self = shared_from_this(), link = link_](const std::error_code& error) {
    if (!self->is_current(link)) return;
    self->writing_ = false;
    // Of a connection that broke, reading tells more: it may hold the reason.
    if (!error) self->flush();
  });
}

void Listener::hang_up() {
  link_->close();
  link_.reset();
  session_.end();
  reading_ = false;
  writing_ = false;
}

void Listener::drop(const Trouble& trouble) {
  if (!writing_ && session_.has_output()) link_->write_now(session_.take_output());
  if (told_up_ && now() - up_at_ >= kGood) pause_ = kFirstPause;
  take_other_version(trouble);
  tell_down(trouble);
  hang_up();
  retry_later();
}

void Listener::retry_later() {
  retry_.expires_after(pause_);
  pause_ = std::min(pause_ * 2, kLongestPause);
  retry_.async_wait([self = shared_from_this()](const std::error_code& error) {
    if (!error && !self->stopped_) self->attempt();
  });
}

/// Version 3.1.1 for a broker that says that it doesn't know version 5. One that
/// hangs up without a word may be of that kind or may be ill: then turn about.
void Listener::take_other_version(const Trouble& trouble) {
  if (endpoint_.version != 5 || version_settled_) return;
  if (trouble.version_refused) {
    version_settled_ = true;
    version_ = Version::v3_1_1;
  } else if (trouble.unanswered) {
    version_ = version_ == Version::v5 ? Version::v3_1_1 : Version::v5;
  }
}

void Listener::tell_up() {
  told_up_ = true;
  up_at_ = now();
  if (endpoint_.version == 5 && version_ == Version::v5) version_settled_ = true;
  std::string what =
      "listening to '" + wire::excerpt(endpoint_.topic_filter) + "' with " + name_of(version_);
  if (endpoint_.version == 5 && version_ != Version::v5) what += ", as the broker refuses MQTT 5";
  what += gap_text();
  sink_.change({.at = clock_(), .condition = Condition::up, .what = what, .remedy = advice()});
  told_down_.reset();
  down_since_.reset();
  had_session_ = true;
}

std::string Listener::gap_text() const {
  const bool first = !down_since_ || !had_session_;
  if (first && !had_earlier_run_) return "";
  const std::string gap = first ? "since the last run" : "of " + span_text(clock_() - *down_since_);
  if (session_.granted_qos() == 0) {
    return "; the gap " + gap + " is lost: with QoS 0 the broker keeps nothing";
  }
  if (session_.session_kept()) return "; the broker kept what was sent in the gap " + gap;
  return "; the broker had forgotten this client: what was sent in the gap " + gap + " may be lost";
}

std::string Listener::advice() const {
  std::string advice = note_;
  const auto add = [&](const std::string& text) {
    if (!advice.empty()) advice += "; ";
    advice += text;
  };
  if (session_.granted_qos() < endpoint_.qos) {
    add("the broker grants QoS 0 only, so what is sent while the connection is down is lost");
  }
  if ((had_session_ || had_earlier_run_) && endpoint_.qos > 0 && !session_.session_kept()) {
    add("have the broker keep sessions, on disk as well");
  }
  return advice;
}

void Listener::tell_down(const Trouble& trouble) {
  if (!down_since_) down_since_ = clock_();
  told_up_ = false;
  if (told_down_ == trouble.what) return;
  told_down_ = trouble.what;
  sink_.change({.at = clock_(),
                .condition = Condition::down,
                .what = trouble.what,
                .remedy = trouble.remedy});
}

/// Once no more of them come.
void Listener::tell_retained() {
  const std::uint64_t more = session_.take_retained();
  retained_ += more;
  if (more > 0 || retained_ == 0 || !told_up_) return;
  sink_.change({.at = clock_(),
                .condition = Condition::up,
                .what = std::to_string(std::exchange(retained_, 0)) +
                        " retained messages left out: nothing tells when they were heard",
                .remedy = "have the sender publish without the retain flag"});
}

class MqttSource : public Source {
 public:
  explicit MqttSource(std::shared_ptr<Listener> listener) : listener_{std::move(listener)} {}
  ~MqttSource() override { listener_->stop(); }
  MqttSource(const MqttSource&) = delete;
  MqttSource& operator=(const MqttSource&) = delete;

  void start() override { listener_->start(); }
  void stop() override { listener_->stop(); }
  void settle(std::uint64_t ticket) override { listener_->settle(ticket); }
  void pause() override { listener_->pause(true); }
  void resume() override { listener_->pause(false); }

 private:
  std::shared_ptr<Listener> listener_;
};

}  // namespace

std::unique_ptr<Source> make_mqtt_source(const fleet::MqttEndpoint& endpoint, Setting setting,
                                         Loop& loop, Sink& sink) {
  return std::make_unique<MqttSource>(
      std::make_shared<Listener>(endpoint, std::move(setting), loop, sink));
}

}  // namespace fieldfare::source
