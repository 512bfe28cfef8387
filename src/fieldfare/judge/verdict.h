// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/evidence/node_evidence.h"

namespace fieldfare::judge {

/// `counter`: it steps by one a report. `settings`: it is set as the site wants it, as
/// far as hearings show. They and `reading` are judged of the first day alone.
enum class Claim : std::uint8_t { identity, cadence, delivery, margin, counter, reading, settings };
enum class Outcome : std::uint8_t { met, open, failed };

/// What is still needed before an open claim can be decided, on average.
struct Needs {
  std::uint64_t reports;          ///< more reports to be sent
  std::optional<double> seconds;  ///< absent where the interval is not known
};

/// One claim about a node, and how it stands.
struct Verdict {
  Claim claim;
  Outcome outcome;
  std::string why;  ///< one sentence with the numbers that made it
  std::optional<Needs> needs;
};

struct Delivery {
  std::uint64_t heard;
  std::uint64_t expected;
  double ratio;
  double low;
  double high;
  double confidence;
  std::optional<double> mean_loss_run;  ///< absent where nothing was lost
  std::optional<double> mean_good_run;
};

struct Margin {
  double rssi_mean_dbm;
  double rssi_sd_db;
  std::optional<double> corrected_mean_dbm;  ///< with the unheard reports reckoned in
  std::optional<double> margin_db;
};

/// A node that fell silent while its receivers went on hearing others, for longer
/// than its ordinary losses explain.
struct Quiet {
  Instant since;        ///< its last hearing
  std::uint64_t beats;  ///< reports that were due since
};

/// One node, judged.
struct NodeVerdict {
  evidence::NodeEvidence evidence;
  bool listed = false;  ///< stands in the roster
  std::optional<Delivery> delivery;
  std::optional<Margin> margin;
  std::vector<Verdict> verdicts;
  std::optional<Quiet> quiet;
  std::optional<std::string> advice;  ///< what to do next; absent where nothing is

  /// failed before open before met; used to put the worst first. A quiet node is
  /// open at best.
  Outcome worst() const;
};

/// All nodes, by label, and what the receivers missed.
struct FleetVerdict {
  std::vector<NodeVerdict> nodes;
  std::vector<evidence::ReceiverSilence> receiver_silences;
  std::vector<evidence::NodeEvidence> not_enrolled;  ///< a row or two of values that cannot be
};

}  // namespace fieldfare::judge
