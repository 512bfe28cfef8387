// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/work/internal/desk_rows.h"

#include <algorithm>
#include <limits>
#include <utility>

#include "fieldfare/judge/first_judgement.h"
#include "fieldfare/judge/suffixes.h"

namespace fieldfare::work::internal {
namespace {

using judge::StepKind;

std::optional<std::int64_t> step_told(const judge::CounterStep& step) {
  if (step.kind == StepKind::first || step.kind == StepKind::unnumbered) return std::nullopt;
  return step.by;
}

class Rows {
 public:
  Rows(const RowParts& parts, Instant now)
      : parts_{parts},
        judgement_{judge::judge_whole_first_day(parts.day, now)},
        suffixes_{parts.day.nodes},
        labels_(parts.day.nodes.size()),
        awaited_(parts.day.nodes.size()) {
    find_labels();
    find_awaited();
  }

  std::vector<DeskRow> make() {
    std::vector<judge::FirstVerdict>& verdicts = judgement_.verdicts;
    std::vector<std::pair<std::uint64_t, DeskRow>> rows;
    rows.reserve(verdicts.size());
    for (std::size_t i = 0; i < verdicts.size(); ++i) {
      const bool is_node = i < parts_.day.nodes.size();
      DeskRow row = is_node ? node_row(i, judgement_.beats[i]) : label_row(verdicts[i].digits);
      row.digits = verdicts[i].digits;
      row.verdict = std::move(verdicts[i]);
      const std::uint64_t rank = rank_of(row.key);
      rows.emplace_back(rank, std::move(row));
    }
    std::stable_sort(rows.begin(), rows.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<DeskRow> result;
    result.reserve(rows.size());
    for (auto& [rank, row] : rows) result.push_back(std::move(row));
    return result;
  }

 private:
  std::uint64_t rank_of(const std::string& key) const {
    const auto found = parts_.came_up.find(key);
    return found == parts_.came_up.end() ? std::numeric_limits<std::uint64_t>::max()
                                         : found->second;
  }

  /// Of several nodes that a label fits, the one that was heard first has its row.
  void find_labels() {
    for (const std::string& digits : parts_.day.labels) {
      const auto fits = suffixes_.ending_in(digits);
      const auto first = std::min_element(fits.begin(), fits.end(), [this](auto a, auto b) {
        return rank_of(parts_.day.nodes[a].address) < rank_of(parts_.day.nodes[b].address);
      });
      if (first != fits.end()) labels_[*first].push_back(label_key(digits));
    }
  }

  void find_awaited() {
    for (const judge::ProvokedOutcome& outcome : judgement_.outcomes) {
      if (outcome.is_over || outcome.node) continue;
      const std::string& digits = parts_.day.provocations[outcome.provocation].digits;
      const auto fits = suffixes_.ending_in(digits);
      for (const std::size_t node : fits) awaited_[node] = true;
      if (fits.empty()) awaited_labels_.push_back(digits);
    }
  }

  void tell_spoken(DeskRow& row, const std::string& key) const {
    const auto found = parts_.spoken.find(key);
    if (found == parts_.spoken.end()) return;
    if (row.name.empty()) row.name = found->second.name;
    if (row.note.empty()) row.note = found->second.note;
  }

  DeskRow node_row(std::size_t index, const judge::FirstBeat& beat) const {
    const judge::FirstNode& node = parts_.day.nodes[index];
    DeskRow row;
    row.key = row.address = node.address;
    tell_spoken(row, node.address);
    for (const std::string& label : labels_[index]) {
      if (rank_of(label) < rank_of(row.key)) row.key = label;
      tell_spoken(row, label);
    }
    row.reports = parts_.reports[index];
    row.is_awaited = awaited_[index];
    row.interval = beat.interval;
    row.off_beat = beat.off_beat;
    row.next_beat = beat.next;
    if (node.reports.empty()) return row;
    const judge::FirstReport& newest = node.reports.back();
    row.newest = newest.at;
    row.counter = newest.sequence;
    row.step = step_told(beat.steps.back());
    row.rssi_dbm = newest.rssi_dbm;
    for (const judge::NamedValue& reading : newest.readings) {
      if (reading.name != judge::kNetworkReading) row.readings.push_back(reading);
    }
    return row;
  }

  DeskRow label_row(const std::string& digits) const {
    DeskRow row;
    row.key = label_key(digits);
    row.is_awaited =
        std::find(awaited_labels_.begin(), awaited_labels_.end(), digits) != awaited_labels_.end();
    tell_spoken(row, row.key);
    return row;
  }

  const RowParts& parts_;
  judge::FirstJudgement judgement_;
  judge::Suffixes suffixes_;
  std::vector<std::vector<std::string>> labels_;  ///< keys of labels, by node
  std::vector<bool> awaited_;
  std::vector<std::string> awaited_labels_;
};

}  // namespace

std::string label_key(std::string_view digits) { return "label " + std::string{digits}; }

std::vector<DeskRow> rows_of(const RowParts& parts, Instant now) { return Rows{parts, now}.make(); }

}  // namespace fieldfare::work::internal
