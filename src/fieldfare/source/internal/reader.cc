// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/reader.h"

#include <algorithm>
#include <filesystem>
#include <utility>

namespace fieldfare::source {
namespace {

// Short enough that a replugged receiver loses little, long enough that a port
// which stays away costs nothing.
constexpr std::chrono::milliseconds kFirstInterval{200};
constexpr std::chrono::milliseconds kLongestInterval{3'000};

class Held : public Source {
 public:
  explicit Held(std::shared_ptr<Reader> reader) : reader_{std::move(reader)} {}
  ~Held() override { reader_->stop(); }
  Held(const Held&) = delete;
  Held& operator=(const Held&) = delete;

  void start() override { reader_->start(); }
  void stop() override { reader_->stop(); }
  void settle(std::uint64_t ticket) override { reader_->settle(ticket); }
  void pause() override { reader_->pause(); }
  void resume() override { reader_->resume(); }

 private:
  std::shared_ptr<Reader> reader_;
};

}  // namespace

Reader::Reader(Setting setting, Loop& loop, Sink& sink)
    : setting_{std::move(setting)},
      loop_{loop},
      sink_{sink},
      retry_{loop.impl().io},
      interval_{kFirstInterval} {}

void Reader::start() {
  if (!stopped_) return;
  stopped_ = false;
  open();
}

void Reader::stop() {
  if (stopped_) return;
  stopped_ = true;
  retry_.cancel();
  close();
}

void Reader::pause() {
  loop_.post([self = shared_from_this()] { self->paused_ = true; });
}

void Reader::resume() {
  loop_.post([self = shared_from_this()] {
    if (!std::exchange(self->paused_, false)) return;
    if (!self->stopped_) self->go_on();
  });
}

void Reader::hand_over(std::span<const std::uint8_t> octets, bool whole, std::uint64_t mark) {
  interval_ = kFirstInterval;  // what gives something is worth asking again soon
  sink_.take({.at = setting_.clock(),
              .octets = octets,
              .whole = whole,
              .topic = {},
              .ticket = ++ticket_,
              .mark = mark});
}

void Reader::up(std::string what, bool goes_on) {
  if (has_told(Condition::up, what)) return;
  tell({setting_.clock(), Condition::up, std::move(what), {}, goes_on});
}

void Reader::begins_anew(std::string what) {
  tell({setting_.clock(), Condition::up, std::move(what), {}, false});
}

void Reader::down(std::string what, std::string remedy) {
  tell_once(Condition::down, std::move(what), std::move(remedy));
}

void Reader::ended(std::string what) { tell_once(Condition::ended, std::move(what), {}); }

void Reader::try_again() {
  retry_.expires_after(interval_);
  interval_ = std::min(2 * interval_, kLongestInterval);
  retry_.async_wait([self = shared_from_this()](const asio::error_code& error) {
    if (!error && !self->stopped_) self->open();
  });
}

void Reader::go_on_later() {
  loop_.post([self = shared_from_this()] {
    if (!self->stopped_) self->go_on();
  });
}

void Reader::tell_once(Condition condition, std::string what, std::string remedy) {
  if (has_told(condition, what)) return;
  tell({setting_.clock(), condition, std::move(what), std::move(remedy), false});
}

bool Reader::has_told(Condition condition, const std::string& what) const {
  return told_any_ && told_.condition == condition && told_.what == what;
}

void Reader::tell(Change change) {
  told_any_ = true;
  told_ = std::move(change);
  sink_.change(told_);
}

std::string resolved(const Setting& setting, const std::string& path) {
  return (std::filesystem::path{setting.base_folder} / path).string();
}

std::unique_ptr<Source> held(std::shared_ptr<Reader> reader) {
  return std::make_unique<Held>(std::move(reader));
}

}  // namespace fieldfare::source
