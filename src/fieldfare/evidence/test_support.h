// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/base/random.h"
#include "fieldfare/evidence/entry.h"
#include "fieldfare/evidence/node_evidence.h"

namespace fieldfare::evidence {

inline constexpr std::int64_t kSecondNs = 1'000'000'000;
inline constexpr std::int64_t kMinuteNs = 60 * kSecondNs;

/// A row with a counter, heard `time_ns` after some moment.
inline Entry numbered(std::int64_t time_ns, std::uint32_t sequence, std::uint32_t receiver = 0) {
  return {.time_ns = time_ns,
          .sequence = sequence,
          .receiver_hash = receiver,
          .receiver = receiver,
          .has = Entry::kSequence};
}

/// Any order at all (Fisher and Yates).
template <class T>
std::vector<T> shuffled(std::vector<T> rows, RandomStream& random) {
  for (std::size_t i = rows.size(); i > 1; --i) std::swap(rows[i - 1], rows[random.below(i)]);
  return rows;
}

/// Everything that evidence says, to the last bit, for comparing.
class Teller {
 public:
  Teller() { out_ << std::hexfloat; }

  std::string text() const { return out_.str(); }

  void tell(const NodeEvidence& node) {
    tell(node.heard);
    if (node.sequence) tell(*node.sequence);
    if (node.cadence) tell(*node.cadence);
    if (node.chain) tell(*node.chain);
    out_ << "gap " << (node.longest_gap ? node.longest_gap->ns : -1) << '\n';
    for (const Link& link : node.links) {
      out_ << "link " << index(link.receiver) << ' ' << link.reports << ' ' << link.first.ns << ' '
           << link.last.ns << ' ' << link.rssi_count << ' ' << link.rssi_mean_dbm << ' '
           << link.rssi_sd_db << '\n';
    }
    if (node.signal) {
      out_ << "signal " << index(node.signal->receiver) << ' ' << node.signal->reports << ' '
           << node.signal->mean_dbm << ' ' << node.signal->sd_db << '\n';
    }
    out_ << "supply " << node.supply_last_v.value_or(-1) << " implausible " << node.implausible_rows
         << ' ' << node.doubtful_origin << '\n';
    for (const RecentReport& recent : node.recent) {
      out_ << "recent " << recent.time.ns << ' ' << recent.number << ' ' << recent.starts_run << ' '
           << recent.batched << ' ' << recent.rssi_dbm.value_or(0) << '\n';
    }
  }

  void tell(const FleetEvidence& fleet) {
    for (const NodeEvidence& node : fleet.nodes) {
      out_ << "node " << static_cast<std::uint32_t>(node.node) << '\n';
      tell(node);
    }
    for (const ReceiverSilence& silence : fleet.receiver_silences) {
      out_ << "silence " << index(silence.receiver) << ' ' << silence.from.ns << ' '
           << silence.to.ns << ' ' << silence.missed << ' ' << silence.nodes << ' '
           << silence.listening << '\n';
    }
  }

  void tell(const Sequence& sequence) {
    out_ << "expected " << sequence.expected << " missed " << sequence.missed << " strays "
         << sequence.strays << " earlier " << sequence.earlier_breaks << '\n';
    for (const CounterBreak& at : sequence.breaks) {
      out_ << "break " << at.at.ns << ' ' << static_cast<int>(at.kind) << '\n';
    }
  }

  void tell(const Cadence& cadence) {
    out_ << "interval " << cadence.interval_s << " jitter " << cadence.jitter_s;
    if (cadence.interval) {
      out_ << ' ' << cadence.interval->value << ' ' << cadence.interval->low << ' '
           << cadence.interval->high;
    }
    for (const IntervalChange& change : cadence.changes) {
      out_ << "\nchange " << change.at.ns << ' ' << change.from.ns << ' ' << change.to.ns;
    }
    out_ << '\n' << cadence.earlier_changes << '\n';
  }

 private:
  static std::uint32_t index(fleet::ReceiverIndex receiver) {
    return static_cast<std::uint32_t>(receiver);
  }
  void tell(const Heard& heard) {
    out_ << "heard " << heard.hearings << ' ' << heard.reports << ' ' << heard.duplicates << ' '
         << heard.further_hearings << ' ' << (heard.first ? heard.first->ns : 0) << ' '
         << (heard.last ? heard.last->ns : 0) << '\n';
  }
  void tell(const LossChain& chain) {
    out_ << "chain " << chain.good_good << ' ' << chain.good_bad << ' ' << chain.bad_good << ' '
         << chain.bad_bad << ' ' << chain.heard << ' ' << chain.expected << '\n';
  }

  std::ostringstream out_;
};

template <class Evidence>
std::string told(const Evidence& evidence) {
  Teller teller;
  teller.tell(evidence);
  return teller.text();
}

}  // namespace fieldfare::evidence
