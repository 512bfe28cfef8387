// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/framed.h"

namespace fieldfare::learn {

/// The raw number at an octet: exact for integers of up to 6 octets. Nothing where it
/// lies outside, is no BCD, or is a real number that no sensor sends (not finite,
/// beyond 1e9, nearer to 0 than 1e-6 and not 0).
std::optional<double> raw_number(const fleet::Octets& octets, std::size_t at,
                                 const fleet::NumberForm& form);

/// Frames of one length, each node's in the order of its reports; a frame that says
/// the same as the one before in its order is a copy and is left out. Keeps references
/// to the frames.
class ReportSeries {
 public:
  explicit ReportSeries(std::span<const Framed> frames);

  /// One list for each node that has frames, in the order of node numbers.
  const std::vector<std::vector<const Framed*>>& nodes() const { return nodes_; }
  std::size_t frames() const { return frames_; }
  std::size_t octets() const { return octets_; }  ///< of every frame
  /// Pairs of reports of one node, one behind the other.
  std::size_t steps() const { return frames_ - nodes_.size(); }

 private:
  std::vector<std::vector<const Framed*>> nodes_;
  std::size_t frames_ = 0;
  std::size_t octets_ = 0;
};

}  // namespace fieldfare::learn
