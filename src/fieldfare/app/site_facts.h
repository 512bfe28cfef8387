// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>

#include "fieldfare/evidence/facts.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/fleet/site.h"
#include "fieldfare/judge/judge.h"
#include "fieldfare/wire/capture_reader.h"

namespace fieldfare::app {

/// What is said on the command line about nodes of which no site says it.
struct SpokenFacts {
  std::optional<Duration> interval;
  std::optional<std::uint8_t> sequence_bits;  ///< 1..32
};

/// What is known of each node before anything is heard: from the site where
/// there is one, from what was said otherwise. The site must outlive it.
class SiteFacts {
 public:
  SiteFacts(const fleet::Site* site, const SpokenFacts& spoken) : site_{site}, spoken_{spoken} {}

  /// Enters the roster into empty labels, so that node i of the site has index i.
  void enter_roster(fleet::Labels& labels) const;

  /// `label` says what a protocol told of the node; a sheet and what was said on
  /// the command line win.
  evidence::NodeFacts facts(fleet::NodeIndex node, const fleet::NodeLabel& label) const;
  judge::NodeTerms terms(fleet::NodeIndex node) const;
  judge::ProofTerms proof() const;
  /// Whose frames of a capture count: with a roster the nodes in it, with a PAN
  /// alone those of that PAN.
  wire::CaptureSieve sieve(bool keep_foreign) const;
  bool with_site() const { return site_ != nullptr; }

 private:
  evidence::NodeFacts known(fleet::NodeIndex node) const;
  const fleet::Node* listed(fleet::NodeIndex node) const;
  const fleet::NodeSheet* sheet(fleet::NodeIndex node) const;

  const fleet::Site* site_;
  SpokenFacts spoken_;
};

}  // namespace fieldfare::app
