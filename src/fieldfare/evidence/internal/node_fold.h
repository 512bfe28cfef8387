// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "fieldfare/evidence/entry.h"
#include "fieldfare/evidence/internal/cadence_fold.h"
#include "fieldfare/evidence/internal/sequence_fold.h"
#include "fieldfare/evidence/node_evidence.h"

namespace fieldfare::evidence::internal {

/// Folds the hearings of one node, in canonical order, into its evidence.
class NodeFold final : private SequenceListener {
 public:
  explicit NodeFold(NodeFacts facts) : sequence_{facts}, has_beat_{!facts.event_driven} {}

  void add(const Entry& entry);

  /// The evidence as if nothing more came, but for what takes all nodes together
  /// (receiver silences). Receivers are indices of this run; links are in order
  /// of first hearing.
  NodeEvidence evidence(double confidence) const;

  /// The gaps along the counter that evidence() counts, for receiver silences.
  std::vector<Gap> gaps() const;

  template <class Archive>
  void visit(Archive& archive) {
    archive(sequence_, cadence_, heard_, numbered_, strays_, breaks_, earlier_breaks_, links_,
            recent_, recent_next_, last_report_ns_, gap_from_ns_, longest_gap_ns_, first_ns_,
            last_ns_, supply_uv_, implausible_rows_, plain_rows_, unnumbered_);
    if constexpr (Archive::kReads) {
      if (recent_.size() > kMostRecent || recent_next_ >= kMostRecent) archive.fail();
    }
  }

 private:
  static constexpr std::size_t kMostBreaks = 256;
  static constexpr std::size_t kMostRecent = 64;

  struct LinkSums {
    std::uint32_t receiver = 0;
    std::uint64_t reports = 0;
    std::int64_t first_ns = 0;
    std::int64_t last_ns = 0;
    std::uint64_t rssi_count = 0;
    std::int64_t rssi_sum = 0;          ///< hundredths of a dBm
    std::uint64_t rssi_square_sum = 0;  ///< their squares

    Link link() const;

    template <class Archive>
    void visit(Archive& archive) {
      archive.receiver(receiver);
      archive(reports, first_ns, last_ns, rssi_count, rssi_sum, rssi_square_sum);
    }
  };
  struct Break {
    std::int64_t at_ns = 0;
    BreakKind kind = BreakKind::reset;
    std::int64_t silent_ns = 0;

    template <class Archive>
    void visit(Archive& archive) {
      archive(at_ns, kind, silent_ns);
    }
  };
  struct Recent {
    std::int64_t time_ns = 0;
    std::uint64_t number = 0;
    std::int16_t rssi_centidbm = 0;
    bool has_rssi = false;
    bool starts_run = false;
    bool batched = false;

    template <class Archive>
    void visit(Archive& archive) {
      archive(time_ns, number, rssi_centidbm, has_rssi, starts_run, batched);
    }
  };
  struct Counts {
    std::uint64_t hearings = 0;
    std::uint64_t reports = 0;
    std::uint64_t duplicates = 0;
    std::uint64_t further = 0;

    template <class Archive>
    void visit(Archive& archive) {
      archive(hearings, reports, duplicates, further);
    }
  };
  /// Reports without a counter are told apart, and put on a beat, by time alone.
  struct Unnumbered {
    Pace pace;
    std::uint64_t number = 0;
    std::int64_t time_ns = INT64_MIN;
    std::uint64_t links = 0;

    template <class Archive>
    void visit(Archive& archive) {
      archive(pace, number, time_ns, links);
    }
  };

  unsigned link_of(const Entry& entry) override;
  void on_report(const Entry& entry, std::uint64_t number, Place place) override;
  void on_repeat(const Entry& entry, bool same_receiver) override;
  void on_stray(const Entry& entry) override;
  void on_stray_placed(const Entry& entry, std::uint64_t number) override;
  void on_break(std::int64_t time_ns, BreakKind kind) override;

  void add_unnumbered(const Entry& entry);
  void count_report(const Entry& entry);
  void note_time(std::int64_t time_ns);
  void hear_on_link(const Entry& entry);
  void note_recent(const Entry& entry, std::uint64_t number, bool starts_run);
  Heard heard() const;
  CounterRun ended_run() const;
  void tell_sequence(NodeEvidence& result) const;
  std::vector<RecentReport> recent() const;

  SequenceFold sequence_;
  bool has_beat_;  ///< from the facts, not archived
  CadenceFold cadence_;
  Counts heard_;
  std::uint64_t numbered_ = 0;  ///< reports with a counter
  std::uint64_t strays_ = 0;
  std::vector<Break> breaks_;
  std::uint64_t earlier_breaks_ = 0;
  std::vector<LinkSums> links_;
  std::vector<Recent> recent_;
  std::uint64_t recent_next_ = 0;
  std::int64_t last_report_ns_ = INT64_MIN;
  std::int64_t gap_from_ns_ = INT64_MIN;  ///< the last report, if it had a time of its own
  std::int64_t longest_gap_ns_ = -1;
  std::int64_t first_ns_ = INT64_MAX;
  std::int64_t last_ns_ = INT64_MIN;
  std::optional<std::int32_t> supply_uv_;
  std::uint64_t implausible_rows_ = 0;
  std::uint64_t plain_rows_ = 0;
  Unnumbered unnumbered_;
};

}  // namespace fieldfare::evidence::internal
