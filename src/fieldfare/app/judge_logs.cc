// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/judge_logs.h"

#include <algorithm>
#include <unordered_set>
#include <utility>

#include "fieldfare/app/external_sort.h"
#include "fieldfare/app/judge_fold.h"
#include "fieldfare/app/log_reader.h"
#include "fieldfare/evidence/fleet_fold.h"
#include "fieldfare/render/words.h"

namespace fieldfare::app {
namespace {

constexpr std::uint64_t kRowsBetweenProgress = 1 << 20;

Complaint temp_file_failed() {
  return {{"", 0, 0},
          "a temporary file could not be written or read",
          "room in the folder for temporary files (TMPDIR)"};
}

/// Reads the logs of a request into a fold.
class LogJudge {
 public:
  LogJudge(const JudgeRequest& request, const fleet::Site* site)
      : request_{request},
        facts_{site, request.spoken},
        labels_{std::make_unique<fleet::Labels>()},
        fold_{*labels_,
              [this](fleet::NodeIndex node) { return facts_.facts(node, labels_->label(node)); }} {
    facts_.enter_roster(*labels_);
    for (const std::string& path : request.logs) {
      files_.push_back({path, {}, false, facts_.sieve(request.keep_foreign)});
    }
  }
  ~LogJudge() = default;
  LogJudge(const LogJudge&) = delete;
  LogJudge& operator=(const LogJudge&) = delete;

  Result<Judged, Trouble> run() {
    if (auto trouble = read_all()) return Failure{std::move(*trouble)};
    if (auto trouble = refold_overtaken()) return Failure{std::move(*trouble)};
    Judged judged;
    judged.verdict = judge_fold(fold_, *labels_, facts_, request_.confidence);
    judged.run = run_facts();
    judged.labels = std::move(labels_);
    return judged;
  }

 private:
  bool wanted(Instant time) const {
    return (!request_.from || *request_.from <= time) && (!request_.to || time < *request_.to);
  }

  std::optional<Trouble> read_all() {
    for (LogFile& file : files_) {
      if (auto trouble = read_once(file)) return trouble;
      if (request_.strict && ledger_.rows_unreadable() > 0) {
        return Trouble{Blame::input, {ledger_.quoted().front().complaint()}};
      }
    }
    return std::nullopt;
  }

  std::optional<Trouble> read_once(LogFile& file) {
    // Whether the file can be read again isn't known before it is open; a pipe's
    // hearings are kept from the first on.
    bool kept = true;
    const auto sink = [&](const fleet::Hearing& hearing) {
      watch();
      if (!wanted(hearing.time)) {
        ++rows_outside_;
        return;
      }
      fold_.add(hearing);
      if (!file.regular) kept = spool_.add(hearing.node, fold_.entry_of(hearing)) && kept;
    };
    auto reading = read_log(file, *labels_, ledger_, sink);
    if (!reading) return reading.error();
    if (!kept) return Trouble{Blame::machine, {temp_file_failed()}};
    if (reading->torn) {
      if (request_.strict) return Trouble{Blame::input, {*reading->torn}};
      notes_.push_back(reading->torn->text());
    }
    for (const Complaint& note : reading->notes) notes_.push_back(note.text());
    return std::nullopt;
  }

  void watch() {
    if (request_.progress && ++rows_ % kRowsBetweenProgress == 0) request_.progress(rows_);
  }

  std::optional<Trouble> refold_overtaken() {
    const std::vector<fleet::NodeIndex> overtaken = fold_.overtaken();
    if (overtaken.empty()) return std::nullopt;
    notes_.push_back("hearings of " + render::counted(overtaken.size(), "node", "nodes") +
                     " came so late that they were sorted first");
    ExternalSort sort;
    if (auto trouble = collect({overtaken.begin(), overtaken.end()}, sort)) return trouble;
    for (const fleet::NodeIndex node : overtaken) fold_.begin_refold(node);
    const bool sorted = sort.drain([this](fleet::NodeIndex node, const evidence::Entry& entry) {
      fold_.add_in_order(node, entry);
    });
    if (!sorted) return Trouble{Blame::machine, {temp_file_failed()}};
    return std::nullopt;
  }

  /// Gathers all hearings of some nodes, once more from the files and from what
  /// was kept of pipes.
  std::optional<Trouble> collect(const std::unordered_set<fleet::NodeIndex>& nodes,
                                 ExternalSort& sort) {
    bool stored = true;
    const auto take = [&](fleet::NodeIndex node, const evidence::Entry& entry) {
      if (nodes.contains(node)) stored = sort.add(node, entry) && stored;
    };
    for (LogFile& file : files_) {
      if (!file.regular) continue;
      wire::Ledger unused{0};
      auto reading = read_log(file, *labels_, unused, [&](const fleet::Hearing& hearing) {
        if (wanted(hearing.time)) take(hearing.node, fold_.entry_of(hearing));
      });
      if (!reading) return reading.error();
    }
    if (!spool_.for_each(take) || !stored) return Trouble{Blame::machine, {temp_file_failed()}};
    return std::nullopt;
  }

  render::RunFacts run_facts() {
    render::RunFacts run;
    run.rows_read = ledger_.rows_read();
    run.rows_skipped = ledger_.rows_skipped();
    run.rows_outside = rows_outside_;
    run.skipped_by_reason = ledger_.skipped_by_reason();
    const auto quoted = std::min(ledger_.quoted().size(), render::RunFacts::kMostQuoted);
    run.skipped.assign(ledger_.quoted().begin(),
                       ledger_.quoted().begin() + static_cast<std::ptrdiff_t>(quoted));
    run.notes = std::move(notes_);
    return run;
  }

  const JudgeRequest& request_;
  SiteFacts facts_;
  std::unique_ptr<fleet::Labels> labels_;
  evidence::FleetFold fold_;
  std::vector<LogFile> files_;
  wire::Ledger ledger_;
  EntrySpool spool_;
  std::uint64_t rows_ = 0;
  std::uint64_t rows_outside_ = 0;
  std::vector<std::string> notes_;
};

}  // namespace

bool Judged::answer_is_no() const {
  return question.with_site &&
         std::any_of(verdict.nodes.begin(), verdict.nodes.end(), [](const auto& node) {
           return !node.verdicts.empty() && node.worst() == judge::Outcome::failed;
         });
}

render::JudgeQuestion question_of(const JudgeRequest& request, const fleet::Site* site) {
  render::JudgeQuestion question;
  question.from = request.from;
  question.to = request.to;
  question.confidence = request.confidence;
  if (!site) return question;
  question.with_site = true;
  question.site_name = site->name;
  question.invented = site->invented;
  return question;
}

Result<Judged, Trouble> judge_logs(const JudgeRequest& request, const fleet::Site* site) {
  auto judged = LogJudge{request, site}.run();
  if (judged) judged->question = question_of(request, site);
  return judged;
}

}  // namespace fieldfare::app
