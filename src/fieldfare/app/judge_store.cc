// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/judge_store.h"

#include <algorithm>
#include <filesystem>
#include <unordered_set>
#include <utility>

#include "fieldfare/app/deafness.h"
#include "fieldfare/app/external_sort.h"
#include "fieldfare/app/first_day.h"
#include "fieldfare/app/import_logs.h"
#include "fieldfare/app/judge_fold.h"
#include "fieldfare/store/store.h"

namespace fieldfare::app {
namespace {

/// Of what this file keeps in a checkpoint; the fold's own bytes carry theirs.
constexpr std::int64_t kCheckpointVersion = 1;

class StoreJudge {
 public:
  StoreJudge(const JudgeRequest& request, const fleet::Site& site, store::Store* store)
      : request_{request},
        site_{site},
        facts_{&site, request.spoken},
        labels_{std::make_unique<fleet::Labels>()},
        fold_{*labels_,
              [this](fleet::NodeIndex node) { return facts_.facts(node, labels_->label(node)); }},
        store_{store} {
    facts_.enter_roster(*labels_);
  }
  ~StoreJudge() = default;
  StoreJudge(const StoreJudge&) = delete;
  StoreJudge& operator=(const StoreJudge&) = delete;

  Result<Judged, Trouble> run(bool writable) {
    if (store_) {
      if (auto fault = fold_all(writable)) return machine_trouble(std::move(*fault));
    }
    Judged judged;
    judged.verdict = judge_fold(fold_, *labels_, facts_, request_.confidence, deaf_);
    if (first_day_) {
      add_first_day(judged.verdict, judge::judge_first_day(*first_day_, now_), *labels_, site_);
    }
    judged.run = run_facts(judged.verdict);
    judged.labels = std::move(labels_);
    return judged;
  }

 private:
  using Fault = std::optional<Complaint>;

  bool narrowed() const { return request_.from || request_.to; }
  bool wanted(Instant time) const {
    return (!request_.from || *request_.from <= time) && (!request_.to || time < *request_.to);
  }

  Fault fold_all(bool writable) {
    if (auto loaded = store_->load_labels(*labels_); !loaded) return loaded.error();
    if (!narrowed()) {
      if (auto fault = recall_first_day()) return fault;
      if (auto fault = restore()) return fault;
    }
    if (auto fault = fold_new()) return fault;
    if (auto fault = fold_stale()) return fault;
    if (auto fault = refold_overtaken()) return fault;
    if (auto fault = learn_deafness()) return fault;
    return writable && !narrowed() && last_arrival_ > watermark_ ? save() : std::nullopt;
  }

  /// What was provoked has to be known before the beat is followed.
  Fault recall_first_day() {
    auto day = stored_first_day(*store_, *labels_, facts_, site_);
    if (!day) return day.error();
    const auto listening = store_->listening();
    if (!listening) return listening.error();
    first_day_ = std::move(*day);
    if (!first_day_) return std::nullopt;
    now_ = end_of_listening(*listening, *first_day_);
    provoked_ = provoked_times(*first_day_, now_, *labels_);
    return std::nullopt;
  }

  fleet::Hearing marked(fleet::Hearing hearing) const {
    if (const auto node = provoked_.find(hearing.node); node != provoked_.end()) {
      const std::vector<Instant>& times = node->second;
      hearing.provoked = std::find(times.begin(), times.end(), hearing.time) != times.end();
    }
    return hearing;
  }

  /// Takes up the checkpoints, as far as they fit what is known of the nodes now.
  Fault restore() {
    auto checkpoints = store_->load_checkpoints(*labels_);
    if (!checkpoints) return checkpoints.error();
    const auto fleet = std::find_if(checkpoints->begin(), checkpoints->end(),
                                    [](const auto& checkpoint) { return !checkpoint.node; });
    if (fleet == checkpoints->end() || fleet->version != kCheckpointVersion ||
        !fold_.restore_receivers(fleet->state)) {
      return std::nullopt;
    }
    watermark_ = fleet->watermark;
    std::unordered_set<fleet::NodeIndex> restored;
    for (const store::Checkpoint& checkpoint : *checkpoints) {
      if (!checkpoint.node || checkpoint.version != kCheckpointVersion) continue;
      if (fold_.restore_node(*checkpoint.node, checkpoint.state)) {
        restored.insert(*checkpoint.node);
      }
    }
    for (std::uint32_t i = 0; i < labels_->node_count(); ++i) {
      if (!restored.contains(fleet::NodeIndex{i})) stale_.push_back(fleet::NodeIndex{i});
    }
    return std::nullopt;
  }

  Fault fold_new() {
    const std::unordered_set<fleet::NodeIndex> stale{stale_.begin(), stale_.end()};
    store::Scan scan;
    scan.after_arrival = watermark_;
    const auto scanned = store_->scan(scan, *labels_, [&](const store::StoredHearing& stored) {
      if (!wanted(stored.hearing.time)) {
        ++rows_outside_;
      } else if (!stale.contains(stored.hearing.node)) {
        fold_.add(marked(stored.hearing));
      }
    });
    if (!scanned) return scanned.error();
    last_arrival_ = std::max(*scanned, watermark_);
    return std::nullopt;
  }

  /// Nodes without a checkpoint that fits, from their first hearing on.
  Fault fold_stale() {
    for (const fleet::NodeIndex node : stale_) {
      const auto scanned =
          store_->scan_node(node, *labels_, [&](const store::StoredHearing& stored) {
            if (stored.arrival <= last_arrival_) fold_.add(marked(stored.hearing));
          });
      if (!scanned) return scanned.error();
    }
    return std::nullopt;
  }

  Fault refold_overtaken() {
    const std::vector<fleet::NodeIndex> overtaken = fold_.overtaken();
    if (overtaken.empty()) return std::nullopt;
    const Complaint no_room{{"", 0, 0},
                            "a temporary file could not be written or read",
                            "room in the folder for temporary files (TMPDIR)"};
    ExternalSort sort;
    bool kept = true;
    store::Scan scan;
    scan.nodes = overtaken;
    const auto scanned = store_->scan(scan, *labels_, [&](const store::StoredHearing& stored) {
      if (stored.arrival > last_arrival_ || !wanted(stored.hearing.time)) return;
      kept = sort.add(stored.hearing.node, fold_.entry_of(marked(stored.hearing))) && kept;
    });
    if (!scanned) return scanned.error();
    for (const fleet::NodeIndex node : overtaken) fold_.begin_refold(node);
    kept = kept && sort.drain([this](fleet::NodeIndex node, const evidence::Entry& entry) {
      fold_.add_in_order(node, entry);
    });
    return kept ? std::nullopt : Fault{no_room};
  }

  Fault learn_deafness() {
    const auto listening = store_->listening();
    if (!listening) return listening.error();
    const auto receivers = store_->receiver_sources();
    if (!receivers) return receivers.error();
    deaf_ = deafness_of(*listening, *receivers, *labels_);
    return std::nullopt;
  }

  Fault save() {
    std::vector<store::Checkpoint> checkpoints;
    checkpoints.push_back({{}, last_arrival_, kCheckpointVersion, fold_.save_receivers()});
    for (const fleet::NodeIndex node : fold_.touched()) {
      checkpoints.push_back({node, last_arrival_, kCheckpointVersion, fold_.save_node(node)});
    }
    // Another program that writes just now is no reason to withhold the answer:
    // the next judging folds these hearings again.
    if (const auto saved = store_->save_checkpoints(checkpoints, *labels_); !saved) {
      notes_.push_back("evidence was not saved: " + saved.error().text());
    }
    return std::nullopt;
  }

  render::RunFacts run_facts(const judge::FleetVerdict& verdict) {
    render::RunFacts run;
    run.rows_outside = rows_outside_;
    run.rows_read = rows_outside_;
    for (const auto& node : verdict.nodes) run.rows_read += node.evidence.heard.hearings;
    for (const auto& node : verdict.not_enrolled) run.rows_read += node.heard.hearings;
    run.notes = std::move(notes_);
    return run;
  }

  const JudgeRequest& request_;
  const fleet::Site& site_;
  SiteFacts facts_;
  std::unique_ptr<fleet::Labels> labels_;
  evidence::FleetFold fold_;
  store::Store* store_;            ///< nullptr: nothing was stored yet
  std::int64_t watermark_ = 0;     ///< up to here the checkpoints have it
  std::int64_t last_arrival_ = 0;  ///< up to here this judging has it
  std::vector<fleet::NodeIndex> stale_;
  std::vector<evidence::Deafness> deaf_;
  std::optional<judge::FirstDay> first_day_;
  Instant now_{};  ///< up to when the first day is known
  ProvokedTimes provoked_;
  std::uint64_t rows_outside_ = 0;
  std::vector<std::string> notes_;
};

}  // namespace

Result<Judged, Trouble> judge_store(const JudgeRequest& request, const std::string& folder,
                                    const fleet::Site& site) {
  const std::string path = store_path(folder);
  std::error_code fault;
  const bool exists = std::filesystem::exists(path, fault);
  std::optional<store::Store> store;
  bool writable = true;
  if (exists) {
    auto opened = store::Store::open(path, store::Mode::write);
    if (!opened) {
      // A store on a disk that can't be written can still be judged.
      writable = false;
      opened = store::Store::open(path, store::Mode::read);
    }
    if (!opened) return machine_trouble(opened.error());
    store.emplace(std::move(*opened));
  }
  auto judged = StoreJudge{request, site, store ? &*store : nullptr}.run(writable);
  if (judged) judged->question = question_of(request, &site);
  return judged;
}

}  // namespace fieldfare::app
