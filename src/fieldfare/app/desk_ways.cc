// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_ways.h"

#include <algorithm>
#include <utility>

namespace fieldfare::app {
namespace {

/// A sign of life in the record, where nothing else comes.
constexpr Duration kSignOfLife{30LL * 1'000'000'000};

}  // namespace

DeskWays::DeskWays(const std::vector<InletPlan>& plans, source::Clock clock, DeskRecord record)
    : clock_{std::move(clock)}, record_{std::move(record)} {
  for (const InletPlan& plan : plans) ways_.push_back({plan, {}, false, 0, 0});
}

DeskWays::~DeskWays() { stop(); }

const DeskWay* DeskWays::find(std::string_view receiver) const {
  const auto found = std::find_if(ways_.begin(), ways_.end(), [&](const DeskWay& way) {
    return way.plan.receiver == receiver;
  });
  return found == ways_.end() ? nullptr : &*found;
}

void DeskWays::start() {
  for (InletNumber i = 0; i < ways_.size(); ++i) {
    Behind behind;
    behind.sink = std::make_unique<InletSink>(i, queue_);
    source::Setting setting;
    setting.client_id = "fieldfare-desk-" + ways_[i].plan.receiver;
    setting.clock = clock_;
    behind.source =
        source::open_source(ways_[i].plan.endpoint, std::move(setting), loop_, *behind.sink);
    behind_.push_back(std::move(behind));
  }
  loop_.on_end_signal([this] { queue_.end(); });
  loop_.every(Duration::seconds(1), [this] { queue_.put(QueuedEvent{QueuedTick{clock_()}}); });
  loop_.post([this] {
    for (const Behind& behind : behind_) behind.source->start();
  });
  serving_ = std::thread{[this] { loop_.run(); }};
}

void DeskWays::stop() {
  if (!serving_.joinable()) return;
  loop_.post([this] {
    for (const Behind& behind : behind_) behind.source->stop();
    loop_.stop();
  });
  serving_.join();
}

std::span<const DeskEvent> DeskWays::take(std::chrono::milliseconds patience) {
  queue_.take(haul_, patience);
  events_.clear();
  for (const QueuedEvent& event : haul_.events) {
    std::visit([&](const auto& its) { collect(its); }, event);
  }
  if (keep()) {
    for (const Behind& behind : behind_) behind.source->settle(behind.ticket);
  }
  return events_;
}

std::span<const DeskEvent> DeskWays::close() {
  events_.clear();
  const Instant now = clock_();
  for (InletNumber i = 0; i < ways_.size(); ++i) {
    if (std::exchange(ways_[i].is_up, false)) note(i, now, wire::ByteEvent::down, {});
  }
  keep();
  return events_;
}

bool DeskWays::keep() {
  for (const DeskEvent& event : events_) record_.append(event.logged);
  return record_.write();
}

void DeskWays::collect(const QueuedArrival& arrival) {
  DeskWay& way = ways_[arrival.inlet];
  const auto octets = haul_.octets_of(arrival);
  const wire::ByteEvent event = !arrival.whole      ? wire::ByteEvent::stream
                                : arrival.held_back ? wire::ByteEvent::waited
                                                    : wire::ByteEvent::message;
  way.octets += octets.size();
  way.mark = arrival.mark;
  behind_[arrival.inlet].ticket = arrival.ticket;
  note(arrival.inlet, arrival.at, event, {octets.begin(), octets.end()});
  events_.back().mark = arrival.mark;
}

void DeskWays::collect(const QueuedChange& queued) {
  DeskWay& way = ways_[queued.inlet];
  const bool is_up = queued.change.condition == source::Condition::up;
  way.change = queued.change;
  if (is_up == std::exchange(way.is_up, is_up)) return;
  note(queued.inlet, queued.change.at, is_up ? wire::ByteEvent::up : wire::ByteEvent::down, {});
}

void DeskWays::collect(const QueuedRepeat&) {}

void DeskWays::collect(const QueuedOverrun& overrun) { loss_ = overrun.what; }

void DeskWays::collect(const QueuedTick& tick) {
  const bool slept = last_tick_ && tick.at - *last_tick_ > Inlet::kLongestBlink;
  for (InletNumber i = 0; i < ways_.size(); ++i) {
    if (!ways_[i].is_up) continue;
    if (slept) {
      note(i, *last_tick_, wire::ByteEvent::down, {});
      note(i, tick.at, wire::ByteEvent::up, {});
    } else if (tick.at - behind_[i].last_sign > kSignOfLife) {
      note(i, tick.at, wire::ByteEvent::alive, {});
    }
  }
  last_tick_ = tick.at;
}

void DeskWays::note(InletNumber number, Instant at, wire::ByteEvent event, fleet::Octets octets) {
  behind_[number].last_sign = at;
  events_.push_back({{at, ways_[number].plan.receiver, event, std::move(octets), {}}, 0});
}

void DeskWays::say(const std::string& about, const std::string& what) {
  record_.append({clock_(), about, wire::ByteEvent::said, {}, what});
  record_.write();
}

void DeskWays::balance_load(bool high) {
  high = high || queue_.is_high() || record_.is_full();
  if (high == std::exchange(paused_, high)) return;
  for (const Behind& behind : behind_) {
    if (high) {
      behind.source->pause();
    } else {
      behind.source->resume();
    }
  }
}

bool DeskWays::have_ended() const {
  return std::all_of(ways_.begin(), ways_.end(), [](const DeskWay& way) {
    return way.change.condition == source::Condition::ended;
  });
}

std::string DeskWays::take_loss() { return std::exchange(loss_, {}); }

}  // namespace fieldfare::app
