// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/listen.h"

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <memory>
#include <thread>
#include <utility>

#include "fieldfare/app/hearing_keeper.h"
#include "fieldfare/app/import_logs.h"
#include "fieldfare/app/inlet.h"
#include "fieldfare/app/listening_lock.h"
#include "fieldfare/app/reminders.h"
#include "fieldfare/app/site_facts.h"
#include "fieldfare/app/storing_tally.h"
#include "fieldfare/source/file_mark.h"
#include "fieldfare/source/loop.h"
#include "fieldfare/store/store.h"

namespace fieldfare::app {
namespace {

using Steady = std::chrono::steady_clock;
using std::chrono::milliseconds;

/// Hearings wait at most about this long to be stored with others: long enough to
/// share the disk's slowest step among many, short enough to be at once for people.
constexpr milliseconds kGathering{50};
/// Where there is nothing but our own heartbeat to store.
constexpr milliseconds kHeartbeat{5000};
constexpr milliseconds kPatience{100};
constexpr milliseconds kLongestRetry{5000};
/// Past this many hearings a commit doesn't wait for more.
constexpr std::size_t kEnough = 20'000;
constexpr int kLastTries = 3;

/// A hearing that is told once it is stored; the stream's readings don't live that long.
struct Untold {
  fleet::Hearing hearing;
  std::vector<fleet::Reading> readings;
};

std::string first_line_of(const std::string& path) {
  constexpr std::size_t kLongest = 65'536;
  std::ifstream file{path, std::ios::binary};
  std::string line(kLongest, '\0');
  file.read(line.data(), static_cast<std::streamsize>(line.size()));
  line.resize(static_cast<std::size_t>(file.gcount()));
  const std::size_t end = line.find('\n');
  return end == std::string::npos ? std::string{} : line.substr(0, end + 1);
}

class Listener : private wire::HearingStream {
 public:
  Listener(const ListenRequest& request, const fleet::Site& site, std::vector<InletPlan> plans)
      : request_{request}, site_{site}, labels_{std::make_unique<fleet::Labels>()} {
    SiteFacts{&site_, {}}.enter_roster(*labels_);
    inlets_.reserve(plans.size());
    for (InletPlan& plan : plans) {
      wire::DecoderOptions options;
      options.source = fleet::text_of(plan.endpoint);
      options.receiver = plan.receiver;
      options.receiver_frame = plan.receiver_frame;
      options.known = plan.known;
      options.kind_of = [this](fleet::NodeIndex node) { return kind_of(node); };
      const std::string file = file_of(plan);
      inlets_.emplace_back(std::move(plan), *labels_, options,
                           [file](std::uint64_t mark, std::uint64_t octets) {
                             return source::mark_before(file, mark, octets);
                           });
    }
  }
  ~Listener() override = default;
  Listener(const Listener&) = delete;
  Listener& operator=(const Listener&) = delete;

  store::Outcome keep_in(store::Store& store) {
    store_ = &store;
    keeper_ = std::make_unique<HearingKeeper>(store, site_, *labels_);
    if (auto begun = keeper_->begin(inlets_); !begun) return begun;
    auto reminders = open_reminders(store, *labels_);
    if (!reminders) return Failure{reminders.error()};
    reminders_ = std::move(*reminders);
    return store::Done{};
  }

  ListenOutcome run() {
    ListenOutcome outcome;
    outcome.from = request_.clock();
    deadline_ = request_.how_long
                    ? std::optional{Steady::now() + std::chrono::nanoseconds{request_.how_long->ns}}
                    : std::nullopt;
    open_sources();
    std::thread serving{[this] { loop_.run(); }};
    serve();
    for (const auto& source : sources_) source->pause();
    drain();
    loop_.post([this] {
      for (const auto& source : sources_) source->stop();
      loop_.stop();
    });
    serving.join();
    end_inlets();
    drain();
    finish(outcome);
    return outcome;
  }

 private:
  std::optional<std::uint32_t> kind_of(fleet::NodeIndex node) const {
    const auto at = static_cast<std::size_t>(node);
    if (at >= site_.nodes.size() || !site_.nodes[at].sheet) return std::nullopt;
    return static_cast<std::uint32_t>(*site_.nodes[at].sheet);
  }

  void open_sources() {
    for (InletNumber i = 0; i < inlets_.size(); ++i) {
      Inlet& inlet = inlets_[i];
      sinks_.push_back(std::make_unique<InletSink>(i, queue_));
      source::Setting setting;
      setting.base_folder = request_.folder;
      setting.client_id = "fieldfare-" + site_.name + "-" + inlet.receiver();
      setting.marks.assign(inlet.marks().begin(), inlet.marks().end());
      setting.clock = request_.clock;
      sources_.push_back(
          source::open_source(inlet.plan().endpoint, std::move(setting), loop_, *sinks_.back()));
    }
    loop_.on_end_signal([this] { queue_.end(); });
    loop_.every(Duration::seconds(1),
                [this] { queue_.put(QueuedEvent{QueuedTick{request_.clock()}}); });
    loop_.post([this] {
      for (const auto& source : sources_) source->start();
    });
  }

  /// The file that the plan reads as it grows; empty where it is another source.
  std::string file_of(const InletPlan& plan) const {
    const auto* file = std::get_if<fleet::FileEndpoint>(&plan.endpoint);
    return file ? (std::filesystem::path{request_.folder} / file->path).string() : std::string{};
  }

  void serve() {
    last_commit_ = Steady::now();
    while (!is_over()) {
      if (!haul_is_read()) {
        if (!take_some()) std::this_thread::sleep_for(kPatience);
      } else if (haul_.ended) {
        return;
      } else {
        queue_.take(haul_, patience());
        next_event_ = 0;
      }
      balance_load();
      if (is_due()) commit();
    }
  }

  bool haul_is_read() const { return next_event_ == haul_.events.size(); }

  /// Reads on in the haul until something else is due. False where nothing more
  /// can be taken before it is stored.
  bool take_some() {
    while (!haul_is_read()) {
      if (keeper_ && keeper_->is_full()) return false;
      std::visit([&](const auto& its) { take(its); }, haul_.events[next_event_++]);
      if (is_due()) break;
    }
    if (!keeper_) tell_heard();
    return true;
  }

  bool is_over() const {
    if (deadline_ && Steady::now() >= *deadline_) return true;
    return std::all_of(inlets_.begin(), inlets_.end(),
                       [](const Inlet& inlet) { return inlet.has_ended(); });
  }

  milliseconds patience() const {
    if (!keeper_ || untold_since_ == Steady::time_point{}) return kPatience;
    const auto left = std::chrono::ceil<milliseconds>(untold_since_ + kGathering - Steady::now());
    return std::clamp(left, milliseconds{0}, kPatience);
  }

  void take(const QueuedArrival& arrival) {
    Inlet& inlet = begin(arrival.inlet, arrival.at);
    inlet.read(arrival, haul_.octets_of(arrival), *this);
    if (const auto suspicion = inlet.suspicion()) note(inlet.receiver(), *suspicion);
  }
  void take(const QueuedChange& queued) {
    Inlet& inlet = begin(queued.inlet, queued.change.at);
    inlet.change(queued.change, *this);
    if (queued.change.goes_on && inlet.plan().reads_rows()) {
      // A log that is gone on with in its middle has its columns in its first line.
      inlet.resume(first_line_of(file_of(inlet.plan())));
    }
    if (keeper_ && !inlet.is_up()) {
      if (const auto awake = inlet.awake()) keeper_->listened(inlet, *awake);
    }
    if (request_.events.changed) request_.events.changed(inlet.receiver(), queued.change);
  }
  void take(const QueuedRepeat& repeat) { inlets_[repeat.inlet].repeat(); }
  void take(const QueuedOverrun& overrun) { note(inlets_[overrun.inlet].receiver(), overrun.what); }
  void take(const QueuedTick& tick) {
    for (Inlet& inlet : inlets_) {
      const auto ended = inlet.tick(tick.at);
      if (!ended) continue;
      if (keeper_) keeper_->listened(inlet, *ended);
      note(inlet.receiver(), "this machine slept, or its clock was set, from " +
                                 to_rfc3339(ended->to) + " to " + to_rfc3339(tick.at));
    }
    tell_due(tick.at);
  }

  void tell_due(Instant now) {
    while (!reminders_.empty() && reminders_.front().due <= now) {
      const KeptReminder& due = reminders_.front();
      note({}, "reminder, due at " + to_rfc3339(due.due) + ": " + due.about + ", " + due.what);
      if (const auto closed = close_reminder(*store_, *labels_, due); !closed) {
        note({}, closed.error().text());
      }
      reminders_.erase(reminders_.begin());
    }
  }

  Inlet& begin(InletNumber number, Instant at) {
    current_ = &inlets_[number];
    arrived_ = at;
    return *current_;
  }

  void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t> tag) override {
    if (keeper_) {
      if (const auto taken = keeper_->append(hearing, tag, *current_); !taken) {
        note(current_->receiver(), taken.error().text());
        ++not_stored_;
        return;
      }
      waiting_.push_back(arrived_);
      if (untold_since_ == Steady::time_point{}) untold_since_ = Steady::now();
    }
    if (!request_.events.heard) return;
    untold_.push_back({hearing, {hearing.readings.begin(), hearing.readings.end()}});
  }

  void unread(const wire::Unread& unread) override {
    if (!keeper_) return;
    keeper_->keep_unread(unread, *current_);
  }

  /// Has the sources wait while more is here than the disk takes.
  void balance_load() {
    const bool high = queue_.is_high() || (keeper_ && keeper_->is_full());
    if (high == paused_) return;
    paused_ = high;
    for (const auto& source : sources_) {
      if (high) {
        source->pause();
      } else {
        source->resume();
      }
    }
    note({}, high ? "the disk doesn't keep up; the sources wait"
                  : "the disk keeps up again; the sources go on");
  }

  bool is_due() const {
    if (!keeper_) return false;
    const auto now = Steady::now();
    if (now < retry_at_) return false;
    if (keeper_->pending() >= kEnough) return true;
    if (untold_since_ != Steady::time_point{}) return now - untold_since_ >= kGathering;
    return now - last_commit_ >= kHeartbeat;
  }

  bool commit() {
    const auto stored = keeper_->commit(inlets_, request_.clock());
    if (!stored) {
      retry_pause_ = std::clamp(2 * retry_pause_, milliseconds{500}, kLongestRetry);
      retry_at_ = Steady::now() + retry_pause_;
      const std::string what = stored.error().text();
      if (what != storing_trouble_) note({}, "hearings wait to be stored: " + what);
      storing_trouble_ = what;
      return false;
    }
    if (!storing_trouble_.empty()) note({}, "hearings are stored again; none was lost");
    storing_trouble_.clear();
    retry_pause_ = milliseconds{0};
    last_commit_ = Steady::now();
    settle();
    return true;
  }

  void settle() {
    const Instant now = request_.clock();
    for (const Instant arrived : waiting_) tally_->add(now - arrived);
    stored_ += waiting_.size();
    waiting_.clear();
    untold_since_ = {};
    for (std::size_t i = 0; i < inlets_.size(); ++i) sources_[i]->settle(inlets_[i].last_ticket());
    tell_heard();
  }

  void tell_heard() {
    for (Untold& untold : untold_) {
      untold.hearing.readings = untold.readings;
      request_.events.heard(untold.hearing, *labels_);
    }
    untold_.clear();
  }

  /// Reads and stores what the sources have handed over so far.
  void drain() {
    int tries = kLastTries;
    do {
      while (!haul_is_read()) {
        if (!take_some() && !commit() && --tries == 0) return;
      }
      queue_.take(haul_, milliseconds{0});
      next_event_ = 0;
    } while (!haul_is_read());
    while (keeper_ && !commit() && --tries > 0) std::this_thread::sleep_for(retry_pause_);
  }

  void end_inlets() {
    for (InletNumber i = 0; i < inlets_.size(); ++i) {
      const Instant now = request_.clock();
      begin(i, now).end(now, *this);
    }
    if (!keeper_) tell_heard();
  }

  void finish(ListenOutcome& outcome) {
    outcome.to = request_.clock();
    outcome.stored = stored_;
    outcome.not_stored = not_stored_ + waiting_.size();
    outcome.storing = tally_->times();
    for (const Inlet& inlet : inlets_) {
      outcome.inlets.push_back({inlet.run(outcome.to), inlet.totals(outcome.to)});
    }
  }

  void note(const std::string& receiver, const std::string& what) const {
    if (request_.events.note) request_.events.note(receiver, what);
  }

  const ListenRequest& request_;
  const fleet::Site& site_;
  std::unique_ptr<fleet::Labels> labels_;
  std::vector<Inlet> inlets_;
  std::unique_ptr<HearingKeeper> keeper_;  ///< null: nothing is stored
  store::Store* store_ = nullptr;          ///< likewise
  std::vector<KeptReminder> reminders_;    ///< that are to be told, by when they are due

  ArrivalQueue queue_;
  source::Loop loop_;
  std::vector<std::unique_ptr<InletSink>> sinks_;
  std::vector<std::unique_ptr<source::Source>> sources_;
  bool paused_ = false;

  Haul haul_;
  std::size_t next_event_ = 0;  ///< of the haul, to be read

  std::optional<Steady::time_point> deadline_;
  Steady::time_point untold_since_{};  ///< the oldest that waits came then; epoch: none does
  Steady::time_point last_commit_{};
  Steady::time_point retry_at_{};
  milliseconds retry_pause_{0};
  std::string storing_trouble_;

  Inlet* current_ = nullptr;  ///< whose bytes are being read
  Instant arrived_;
  std::vector<Instant> waiting_;  ///< arrivals of hearings that wait for the commit
  std::vector<Untold> untold_;
  std::unique_ptr<StoringTally> tally_ = std::make_unique<StoringTally>();
  std::uint64_t stored_ = 0;
  std::uint64_t not_stored_ = 0;
};

}  // namespace

Result<ListenOutcome, Trouble> listen(const ListenRequest& request, const fleet::Site& site) {
  auto plans = plan_inlets(site, request.sources);
  if (!plans) return Failure{plans.error()};
  Listener listener{request, site, std::move(*plans)};
  if (request.folder.empty()) return listener.run();

  const auto lock = ListeningLock::take(request.folder);
  if (!lock) return Failure{lock.error()};
  auto store = store::Store::open(store_path(request.folder), store::Mode::write);
  if (!store) return machine_trouble(store.error());
  if (auto begun = listener.keep_in(*store); !begun) return machine_trouble(begun.error());
  return listener.run();
}

std::vector<source::Port> serial_ports() { return source::list_ports(); }

}  // namespace fieldfare::app
