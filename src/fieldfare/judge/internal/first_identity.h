// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/judge/internal/first_claims.h"
#include "fieldfare/judge/internal/provoked.h"

namespace fieldfare::judge::internal {

/// A label that somebody typed or provoked, and the nodes that it fits.
struct Label {
  std::string digits;
  std::vector<std::size_t> fits;
  std::vector<std::size_t> provocations;  ///< indices, in time
};

/// The day's labels in the order in which they came up.
std::vector<Label> labels_of(const FirstDay& day, const Suffixes& suffixes);

/// Who is who, as far as labels and provoked reports say.
class Identities {
 public:
  Identities(const FirstDay& day, std::span<const Answer> answers, std::vector<Label> labels);

  const std::vector<Label>& labels() const { return labels_; }
  /// The label of a node: the one that it answered to, else the one that fits it best.
  const Label* label_of(std::size_t node) const;
  Finding judge_node(std::size_t node) const;
  /// Of a label that fits no node.
  Finding judge_unheard(const Label& label) const;

 private:
  const Answer* answer_by(const Label& label, std::size_t node) const;
  const Answer* stranger(const Label& label) const;
  bool is_waiting(const Label& label) const;
  std::optional<Finding> judge_stranger(const Label& label) const;
  std::optional<Finding> judge_mute(const Label& label) const;
  Finding judge_unanswered(const Label& label) const;
  Finding met(const Label& label, std::size_t node, const Answer& answer) const;
  std::string ending(std::size_t node, const Label& label) const;
  std::size_t tries(const Label& label) const;

  const FirstDay& day_;
  std::span<const Answer> answers_;
  std::vector<Label> labels_;
  std::vector<std::optional<std::size_t>> best_;  ///< label by node
  std::vector<std::optional<std::size_t>>
      wears_;  ///< label on the node's case, by node: a wrong one
};

}  // namespace fieldfare::judge::internal
