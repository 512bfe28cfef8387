// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/node_fold.h"

#include <algorithm>
#include <cmath>

namespace fieldfare::evidence::internal {
namespace {

/// Without a counter, hearings of one node by several receivers within this time
/// are one report: receivers' clocks agree to a second or two (common practice).
constexpr std::int64_t kSameReportNs = 2'000'000'000;

/// An address heard in no more rows than this, all of impossible values, is no node.
constexpr std::uint64_t kMostFalseRows = 2;

double centi(std::int64_t value) { return static_cast<double>(value) / 100; }

}  // namespace

void NodeFold::add(const Entry& entry) {
  ++heard_.hearings;
  ++(entry.is(Entry::kImplausible) ? implausible_rows_ : plain_rows_);
  if (entry.is(Entry::kSequence) || entry.is(Entry::kImpossibleSequence)) {
    sequence_.add(entry, *this);
  } else {
    add_unnumbered(entry);
  }
}

void NodeFold::add_unnumbered(const Entry& entry) {
  // Nothing tells the reports of a batch apart but that there are so many.
  if (entry.is(Entry::kBatched)) return count_report(entry);
  Unnumbered& last = unnumbered_;
  const std::uint64_t bit = std::uint64_t{1} << std::min(link_of(entry), 63U);
  if (last.time_ns != INT64_MIN) {
    const std::int64_t elapsed = entry.time_ns - last.time_ns;
    const bool same_receiver = (last.links & bit) != 0;
    if (elapsed == 0 || (!same_receiver && elapsed <= kSameReportNs)) {
      last.links |= bit;
      return on_repeat(entry, same_receiver);
    }
    const auto pace = last.pace.estimate();
    const bool by_beat = pace && pace->regular;
    const double beats = by_beat ? static_cast<double>(elapsed) / pace->step_ns : 1;
    const auto steps = static_cast<std::uint64_t>(std::max(1.0, std::round(beats)));
    last.pace.add(elapsed, steps);
    last.number += steps;
  }
  last.time_ns = entry.time_ns;
  last.links = bit;
  count_report(entry);
  // A node that numbers its other reports has its beat by those.
  if (numbered_ == 0) {
    if (has_beat_ && !entry.is(Entry::kProvoked)) cadence_.add(last.number, entry.time_ns);
    note_recent(entry, last.number, false);
  }
}

unsigned NodeFold::link_of(const Entry& entry) {
  for (std::size_t i = 0; i < links_.size(); ++i) {
    if (links_[i].receiver == entry.receiver) return static_cast<unsigned>(i);
  }
  links_.push_back(
      {.receiver = entry.receiver, .first_ns = entry.time_ns, .last_ns = entry.time_ns});
  return static_cast<unsigned>(links_.size() - 1);
}

void NodeFold::note_time(std::int64_t time_ns) {
  first_ns_ = std::min(first_ns_, time_ns);
  last_ns_ = std::max(last_ns_, time_ns);
}

void NodeFold::hear_on_link(const Entry& entry) {
  LinkSums& link = links_[link_of(entry)];
  ++link.reports;
  link.first_ns = std::min(link.first_ns, entry.time_ns);
  link.last_ns = std::max(link.last_ns, entry.time_ns);
  if (!entry.is(Entry::kRssi)) return;
  const std::int64_t rssi = entry.rssi_centidbm;
  ++link.rssi_count;
  link.rssi_sum += rssi;
  link.rssi_square_sum += static_cast<std::uint64_t>(rssi * rssi);
}

void NodeFold::count_report(const Entry& entry) {
  ++heard_.reports;
  note_time(entry.time_ns);
  hear_on_link(entry);
  if (entry.is(Entry::kBatched)) {
    gap_from_ns_ = INT64_MIN;
  } else {
    if (gap_from_ns_ != INT64_MIN) {
      longest_gap_ns_ = std::max(longest_gap_ns_, entry.time_ns - gap_from_ns_);
    }
    gap_from_ns_ = std::max(gap_from_ns_, entry.time_ns);
  }
  last_report_ns_ = std::max(last_report_ns_, entry.time_ns);
  if (entry.is(Entry::kSupply) && !entry.is(Entry::kImplausible)) supply_uv_ = entry.supply_uv;
}

void NodeFold::note_recent(const Entry& entry, std::uint64_t number, bool starts_run) {
  const Recent recent{.time_ns = entry.time_ns,
                      .number = number,
                      .rssi_centidbm = entry.rssi_centidbm,
                      .has_rssi = entry.is(Entry::kRssi),
                      .starts_run = starts_run,
                      .batched = entry.is(Entry::kBatched)};
  if (recent_.size() < kMostRecent) {
    recent_.push_back(recent);
    return;
  }
  recent_[static_cast<std::size_t>(recent_next_)] = recent;
  recent_next_ = (recent_next_ + 1) % kMostRecent;
}

void NodeFold::on_report(const Entry& entry, std::uint64_t number, Place place) {
  count_report(entry);
  ++numbered_;
  if (place == Place::late) return;
  if (has_beat_) {
    const bool provoked = entry.is(Entry::kProvoked);
    if (place == Place::starts_run || provoked) cadence_.break_phase();
    if (!provoked && !entry.is(Entry::kBatched)) cadence_.add(number, entry.time_ns);
  }
  note_recent(entry, number, place == Place::starts_run);
}

void NodeFold::on_repeat(const Entry& entry, bool same_receiver) {
  note_time(entry.time_ns);
  if (same_receiver) {
    ++heard_.duplicates;
  } else {
    ++heard_.further;
    hear_on_link(entry);
  }
}

void NodeFold::on_stray(const Entry&) { ++strays_; }

void NodeFold::on_stray_placed(const Entry& entry, std::uint64_t number) {
  --strays_;
  on_report(entry, number, Place::late);
}

void NodeFold::on_break(std::int64_t time_ns, BreakKind kind) {
  if (breaks_.size() == kMostBreaks) {
    breaks_.erase(breaks_.begin());
    ++earlier_breaks_;
  }
  breaks_.push_back({time_ns, kind, time_ns - last_report_ns_});
}

Heard NodeFold::heard() const {
  Heard result{.hearings = heard_.hearings,
               .reports = heard_.reports,
               .duplicates = heard_.duplicates,
               .further_hearings = heard_.further,
               .first = std::nullopt,
               .last = std::nullopt};
  if (last_ns_ != INT64_MIN) {
    result.first = Instant{first_ns_};
    result.last = Instant{last_ns_};
  }
  return result;
}

CounterRun NodeFold::ended_run() const {
  CounterRun run = sequence_.run();
  run.end();
  return run;
}

std::vector<Gap> NodeFold::gaps() const {
  NodeFold whole = *this;
  whole.sequence_.finish(whole);
  return whole.ended_run().losses().gaps();
}

void NodeFold::tell_sequence(NodeEvidence& result) const {
  const CounterRun run = ended_run();
  Sequence sequence{.expected = run.expected(),
                    .missed = run.expected() - numbered_,
                    .breaks = {},
                    .earlier_breaks = earlier_breaks_,
                    .strays = strays_};
  for (const Break& at : breaks_) sequence.breaks.push_back({{at.at_ns}, at.kind, {at.silent_ns}});
  result.sequence = std::move(sequence);
  const LossFold& losses = run.losses();
  result.chain = LossChain{.good_good = losses.good_good(),
                           .good_bad = losses.good_bad(),
                           .bad_good = losses.bad_good(),
                           .bad_bad = losses.bad_bad(),
                           .heard = numbered_,
                           .expected = run.expected()};
}

Link NodeFold::LinkSums::link() const {
  Link result{.receiver = fleet::ReceiverIndex{receiver},
              .reports = reports,
              .first = {first_ns},
              .last = {last_ns},
              .rssi_count = rssi_count};
  if (rssi_count == 0) return result;
  const auto n = static_cast<double>(rssi_count);
  result.rssi_mean_dbm = static_cast<double>(rssi_sum) / n / 100;
  if (rssi_count > 1) {
    const Wide squares =
        Wide{rssi_square_sum} * static_cast<Wide>(rssi_count) - Wide{rssi_sum} * rssi_sum;
    result.rssi_sd_db = std::sqrt(static_cast<double>(squares) / n / (n - 1)) / 100;
  }
  return result;
}

std::vector<RecentReport> NodeFold::recent() const {
  std::vector<RecentReport> result;
  for (std::size_t i = 0; i < recent_.size(); ++i) {
    const Recent& at = recent_[(recent_next_ + i) % recent_.size()];
    result.push_back(
        {.time = {at.time_ns},
         .number = at.number,
         .starts_run = at.starts_run,
         .rssi_dbm = at.has_rssi ? std::optional{centi(at.rssi_centidbm)} : std::nullopt,
         .batched = at.batched});
  }
  return result;
}

NodeEvidence NodeFold::evidence(double confidence) const {
  NodeFold whole = *this;
  whole.sequence_.finish(whole);

  NodeEvidence result;
  result.heard = whole.heard();
  if (whole.numbered_ > 0 || whole.strays_ > 0) whole.tell_sequence(result);
  result.cadence = whole.cadence_.summary(confidence);
  if (whole.longest_gap_ns_ >= 0) result.longest_gap = Duration{whole.longest_gap_ns_};
  for (const LinkSums& sums : whole.links_) {
    if (sums.reports > 0) result.links.push_back(sums.link());
  }
  if (whole.supply_uv_) result.supply_last_v = static_cast<double>(*whole.supply_uv_) / 1e6;
  result.implausible_rows = whole.implausible_rows_;
  result.doubtful_origin = whole.plain_rows_ == 0 && whole.implausible_rows_ > 0 &&
                           whole.implausible_rows_ <= kMostFalseRows;
  result.recent = whole.recent();
  return result;
}

}  // namespace fieldfare::evidence::internal
