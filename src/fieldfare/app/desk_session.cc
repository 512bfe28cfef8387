// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_session.h"

#include <algorithm>
#include <memory>
#include <utility>

#include "fieldfare/app/desk_learner.h"
#include "fieldfare/app/desk_reading.h"
#include "fieldfare/app/desk_said.h"
#include "fieldfare/app/desk_sources.h"
#include "fieldfare/app/desk_ways.h"
#include "fieldfare/app/first_day.h"
#include "fieldfare/app/kept_site.h"
#include "fieldfare/render/frame_line.h"
#include "fieldfare/render/learn_answer.h"

namespace fieldfare::app {
namespace {

using Steady = std::chrono::steady_clock;
using std::chrono::milliseconds;

/// What came is shown within about twice this.
constexpr milliseconds kQueuePatience{20};
constexpr milliseconds kHostPatience{30};
constexpr const char* kLearntSheet = "desk-node";

class DeskSession : private wire::HearingStream {
 public:
  DeskSession(const DeskRequest& request, DeskHost& host, DeskRecord record,
              std::vector<InletPlan> plans)
      : request_{request},
        host_{host},
        plans_{std::move(plans)},
        ways_{plans_, request.clock, std::move(record)},
        desk_{request.clock()} {}
  ~DeskSession() override = default;
  DeskSession(const DeskSession&) = delete;
  DeskSession& operator=(const DeskSession&) = delete;

  /// Reads by these sheets instead of learning.
  void use(DeskSheets sheets) {
    desk_.set_frames({work::DeskFrames::State::given, words_of(sheets), {}});
    is_given_ = true;
    read_by(std::move(sheets));
  }

  /// Goes on with what an earlier desk kept.
  Result<Done, Trouble> take_up() {
    std::string stranger;
    auto replayed = ways_.record().replay([&](const wire::LoggedBytes& logged) {
      if (logged.event == wire::ByteEvent::said) return hear_again(logged);
      if (ways_.find(logged.receiver) == nullptr) stranger = logged.receiver;
      if (!is_given_) learner_.take(logged);
    });
    if (replayed && !stranger.empty()) {
      return input_trouble({{ways_.record().path(), 0, 0},
                            "holds what " + stranger + " heard, which has no source now",
                            "the same sources as before, or another file"});
    }
    return replayed;
  }

  DeskOutcome run() {
    if (request_.how_long) {
      deadline_ = Steady::now() + std::chrono::nanoseconds{request_.how_long->ns};
    }
    ways_.start();
    while (!is_over()) turn();
    ways_.stop();
    finish();
    DeskOutcome outcome{view(request_.clock()), std::move(learnt_)};
    if (ways_.remove_record_if_empty()) outcome.view.kept_in.clear();
    return outcome;
  }

 private:
  // --- the turn ---

  bool is_over() const {
    if (leaving_ || ways_.is_asked_to_end()) return true;
    if (deadline_ && Steady::now() >= *deadline_) return true;
    return ways_.have_ended() && !host_.outlasts_sources() && learner_.is_idle();
  }

  void turn() {
    take_in();
    if (auto learnt = learner_.turn(Steady::now())) understand(std::move(*learnt));
    const Instant now = request_.clock();
    for (const work::Reminder& reminder : desk_.take_due(now)) host_.remind(reminder);
    for (const work::Deed& deed : host_.turn(view(now), kHostPatience)) {
      std::visit([&](const auto& its) { act(its); }, deed);
    }
  }

  void take_in() {
    for (const DeskEvent& event : ways_.take(kQueuePatience)) feed(event);
    if (const std::string loss = ways_.take_loss(); !loss.empty()) host_.answer(loss);
    if (kept_) commit();
    ways_.balance_load(kept_ && kept_->is_full());
  }

  void feed(const DeskEvent& event) {
    if (!is_given_ && !kept_) learner_.take(event.logged);
    if (kept_) {
      if (auto fed = kept_->feed(event.logged, *this, event.mark); !fed) {
        host_.answer(fed.error().text());
      }
    } else if (reading_) {
      reading_->inlets().feed(event.logged, *this);
    }
  }

  void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t> tag) override {
    const fleet::Labels& labels = kept_ ? kept_->labels() : reading_->labels();
    if (!kept_ && tag) {
      desk_.set_terms(first_terms(&reading_->sheets().nodes[*tag]));
    }
    desk_.heard(first_name(labels.label(hearing.node)), first_report(hearing, labels));
  }
  void unread(const wire::Unread&) override {}

  void commit() {
    const Instant now = request_.clock();
    if (now - last_commit_ < Duration{200'000'000}) return;
    last_commit_ = now;
    const auto stored = kept_->commit(now);
    const std::string trouble = stored ? std::string{} : stored.error().text();
    if (trouble != storing_trouble_ && !trouble.empty()) host_.answer("not stored yet: " + trouble);
    storing_trouble_ = trouble;
  }

  void finish() {
    for (auto events = ways_.take(milliseconds{0}); !events.empty();
         events = ways_.take(milliseconds{0})) {
      for (const DeskEvent& event : events) feed(event);
    }
    for (const DeskEvent& event : ways_.close()) feed(event);
    if (const std::string& trouble = ways_.record().trouble(); !trouble.empty()) {
      host_.answer(ways_.record().path() + ": " + trouble);
    }
    if (kept_) {
      last_commit_ = {};
      commit();
      keep_spoken();
    }
  }

  // --- what the bytes mean ---

  void read_by(DeskSheets sheets) {
    desk_.forget_heard();
    if (!sheets.nodes.empty()) desk_.set_terms(first_terms(&sheets.nodes.front()));
    reading_ = std::make_unique<DeskReading>(std::move(sheets), plans_);
    const auto replayed = ways_.record().replay(
        [this](const wire::LoggedBytes& logged) { reading_->inlets().feed(logged, *this); });
    if (!replayed) host_.answer(replayed.error().complaints.front().text());
  }

  void understand(learn::Learnt learnt) {
    if (is_given_ || kept_) return;
    learnt_ = std::move(learnt);
    if (learnt_->frame && is_news(*learnt_)) read_by(sheets_of(*learnt_));
    desk_.set_frames(words_of(*learnt_));
  }

  bool is_news(const learn::Learnt& learnt) const {
    if (!reading_) return true;
    const fleet::NodeSheet& now = reading_->sheets().nodes.front();
    return now.frame != learnt.frame || now.sequence.bits != learnt.sequence.bits ||
           now.sequence.starts_at != learnt.sequence.starts_at;
  }

  static DeskSheets sheets_of(const learn::Learnt& learnt) {
    fleet::NodeSheet sheet;
    sheet.head.name = kLearntSheet;
    sheet.frame = learnt.frame;
    sheet.sequence = learnt.sequence;
    sheet.fields = learnt.fields;
    DeskSheets sheets;
    sheets.nodes.push_back(std::move(sheet));
    return sheets;
  }

  static work::DeskFrames words_of(const learn::Learnt& learnt) {
    work::DeskFrames frames;
    frames.state =
        learnt.frame ? work::DeskFrames::State::learnt : work::DeskFrames::State::learning;
    if (learnt.frame) frames.what = render::frame_line(*learnt.frame);
    const auto open = std::find_if(
        learnt.findings.begin(), learnt.findings.end(), [](const learn::Finding& finding) {
          return finding.sureness >= learn::Sureness::guess && !finding.decides.empty();
        });
    if (open != learnt.findings.end()) frames.decides = open->decides;
    return frames;
  }
  static std::string words_of(const DeskSheets& sheets) {
    if (sheets.nodes.empty()) return "rows of a log";
    return render::frame_line(*sheets.nodes.front().frame);
  }

  // --- what the person does ---

  void hear_again(const wire::LoggedBytes& logged) {
    if (const auto deed = deed_of(logged)) {
      std::visit([&](const auto& its) { this->take(its, logged.at.value_or(Instant{})); }, *deed);
    }
  }

  template <class Deed>
  void act(const Deed& deed) {
    if (const auto what = said(deed)) ways_.say(what->about, what->what);
    const std::string answer = take(deed, request_.clock());
    if (!answer.empty()) host_.answer(answer);
    keep_spoken();
  }

  std::string take(const work::TypedLabel& label, Instant) {
    if (!desk_.label(label.digits)) return label.digits + " is no label; 1 to 16 hex digits are";
    learner_.label(label.digits);
    return {};
  }
  std::string take(const work::DoProvoke& provoke, Instant at) {
    if (!desk_.provoke(provoke.digits, at)) return provoke.digits + " is no label";
    const judge::Provocation& said = desk_.day().provocations.back();
    learner_.label(said.digits);
    learner_.provoked({at, said.digits});
    if (kept_) {
      if (const auto kept = kept_->provoked(said); !kept) return kept.error().text();
    }
    return {};
  }
  std::string take(const work::DoName& name, Instant) {
    desk_.name(name.key, name.name);
    return {};
  }
  std::string take(const work::DoNote& note, Instant) {
    desk_.note(note.key, note.note);
    return {};
  }
  std::string take(const work::DoValue& value, Instant at) {
    if (is_given_ || kept_) {
      return "the sheet is fixed; change the field's scale there by hand if it disagrees";
    }
    const auto address = address_of(value.key);
    learner_.value({value.field, value.value, std::max(value.tolerance, 1e-9), at, address});
    return "looking for the field that says so";
  }
  /// When it is due hangs on what is known now, so that is what is kept.
  void act(const work::DoRemind& remind) {
    const Instant now = request_.clock();
    const work::DeskView seen = view(now);
    const auto row = std::find_if(seen.rows.begin(), seen.rows.end(),
                                  [&](const work::DeskRow& one) { return one.key == remind.key; });
    if (row == seen.rows.end()) return host_.answer("choose a node first");
    constexpr Duration kUsualPause{600LL * 1'000'000'000};
    act<work::DoRemind>({remind.key, row->verdict.delivery_at.value_or(now + kUsualPause)});
  }
  std::string take(const work::DoRemind& remind, Instant) {
    const work::Reminder reminder{*remind.due, remind.key, "look at its delivery"};
    desk_.remind(reminder);
    if (kept_) {
      if (const auto kept = kept_->remind(reminder); !kept) return kept.error().text();
    }
    return {};
  }
  std::string take(const work::DoSave& save, Instant at) {
    if (kept_) {
      keep_spoken();
      return "saved in " + kept_->folder() + " already; it goes on there";
    }
    return keep(save.folder, at);
  }
  std::string take(const work::DoLeave&, Instant) {
    leaving_ = true;
    return {};
  }

  /// Digits of a row's address, or of its label.
  std::string address_of(const std::string& key) const {
    const work::DeskView now = desk_.view(request_.clock());
    for (const work::DeskRow& row : now.rows) {
      if (row.key == key) return row.address.empty() ? row.digits : row.address;
    }
    return {};
  }

  // --- keeping it ---

  std::string keep(const std::string& folder, Instant now) {
    if (!reading_)
      return "what the bytes mean isn't known yet; all of them are in " + ways_.record().path();
    KeepRequest request;
    request.folder = folder;
    request.timezone = request_.timezone;
    request.now = now;
    for (const DeskWay& way : ways_.ways()) {
      fleet::Receiver receiver;
      receiver.name = way.plan.receiver;
      receiver.source = fleet::text_of(way.plan.endpoint);
      receiver.sends_log = reading_->sheets().nodes.empty();
      request.receivers.push_back(std::move(receiver));
      if (way.mark != 0) request.marks[way.plan.receiver] = way.mark;
    }
    const DeskSheets& sheets = reading_->sheets();
    request.sheets = sheets.files;
    if (!sheets.nodes.empty()) request.node_sheet = sheets.nodes.front().head.name;
    if (sheets.receiver) request.receiver_sheet = sheets.receiver->head.name;
    if (!is_given_) {
      request.sheets.push_back({std::string{"sheets/"} + kLearntSheet + ".toml",
                                render::learnt_sheet(*learnt_, kLearntSheet)});
    }
    Collected collected;
    auto kept = KeptSite::begin(request, desk_, ways_.record(), collected);
    if (!kept) return kept.error().complaints.front().text();
    kept_ = std::move(*kept);
    return "saved in " + folder + "; go on here, or later with: fieldfare listen " + folder;
  }

  /// The desk knows these hearings already.
  class Collected : public wire::HearingStream {
   public:
    void hearing(const fleet::Hearing&, std::optional<std::uint32_t>) override {}
    void unread(const wire::Unread&) override {}
  };

  void keep_spoken() {
    if (!kept_) return;
    if (const auto written = kept_->write_again(desk_); !written) {
      host_.answer(written.error().complaints.front().text());
    }
  }

  // --- the view ---

  work::DeskView view(Instant now) {
    std::vector<work::DeskSource> sources;
    const DeskInlets* inlets = kept_ ? &kept_->inlets() : reading_ ? &reading_->inlets() : nullptr;
    for (const DeskWay& way : ways_.ways()) {
      sources.push_back(desk_source(way, ways_.record(), inlets, now));
    }
    desk_.set_sources(std::move(sources));
    work::DeskView view = desk_.view(now);
    view.kept_in = ways_.record().path();
    if (kept_) view.saved_in = kept_->folder();
    return view;
  }

  const DeskRequest& request_;
  DeskHost& host_;
  std::vector<InletPlan> plans_;
  DeskWays ways_;
  work::Desk desk_;
  DeskLearner learner_;
  std::unique_ptr<DeskReading> reading_;  ///< null: what the bytes mean isn't known
  std::unique_ptr<KeptSite> kept_;        ///< null: not saved
  std::optional<learn::Learnt> learnt_;
  bool is_given_ = false;  ///< the sheets are

  std::optional<Steady::time_point> deadline_;
  Instant last_commit_{};
  std::string storing_trouble_;
  bool leaving_ = false;
};

}  // namespace

std::string keep_file_name(Instant now) {
  std::string name = "fieldfare-";
  for (const char c : to_rfc3339({now.ns - now.ns % 1'000'000'000})) {
    if (c == 'T') name += '-';
    if (c >= '0' && c <= '9') name += c;
  }
  return name + ".bytes";
}

Result<DeskOutcome, Trouble> run_desk(const DeskRequest& request, DeskHost& host) {
  auto plans = plan_inlets(fleet::Site{}, request.sources);
  if (!plans) return Failure{plans.error()};
  auto sheets = read_sheets(request.sheets);
  if (!sheets) return Failure{sheets.error()};
  auto record = DeskRecord::open(request.keep_file);
  if (!record) return Failure{record.error()};
  const bool sends_log = request.sources.front().sends_log;
  DeskSession session{request, host, std::move(*record), std::move(*plans)};
  if (sends_log || !request.sheets.empty()) session.use(std::move(*sheets));
  if (auto taken = session.take_up(); !taken) return Failure{taken.error()};
  return session.run();
}

}  // namespace fieldfare::app
