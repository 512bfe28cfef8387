// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/octet_runs.h"

namespace fieldfare::learn {

struct CutFrame {
  fleet::Octets octets;
  std::size_t taken = 0;      ///< octets of the stream
  std::optional<Instant> at;  ///< when its last octet came
  bool leads = false;         ///< its first octet was the first of an arrival
};

struct Cut {
  std::vector<CutFrame> frames;
  std::size_t lost = 0;       ///< octets that are in no frame
  std::size_t stretches = 0;  ///< in so many pieces
};

/// Cuts as the product later reads: by wire::make_deframer.
Cut cut(const Runs& runs, const fleet::FrameFacts& facts);

/// For a length-prefixed frame whose check isn't known yet: takes for frames only
/// those whose length is one of `lengths`, so that a damaged length doesn't swallow
/// what follows.
Cut cut_by_lengths(const Runs& runs, const fleet::FrameFacts& facts,
                   std::span<const std::size_t> lengths);

/// The commonest length of frames; 0 where there are none.
std::size_t usual_length(const Cut& cut);

}  // namespace fieldfare::learn
