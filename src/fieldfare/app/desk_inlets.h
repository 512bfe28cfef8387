// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "fieldfare/app/inlet.h"
#include "fieldfare/wire/byte_log.h"

namespace fieldfare::app {

/// Reads the events of a log of bytes as sheets say: live, or once more from the
/// beginning. The same events give the same hearings.
class DeskInlets {
 public:
  using KindOf = std::function<std::optional<std::uint32_t>(fleet::NodeIndex)>;
  /// A stretch of listening is over.
  using StretchEnded = std::function<void(const Inlet&, const Awake&)>;

  /// `labels` and what the plans point to must outlive it.
  DeskInlets(std::span<const InletPlan> plans, fleet::Labels& labels, const KindOf& kind_of);

  /// Takes the next event; those of receivers without a plan are left out. `out`
  /// gets the hearings, current() is where they come from.
  /// `mark`: what the source is to be told at its next start, 0 for nothing.
  void feed(const wire::LoggedBytes& logged, wire::HearingStream& out,
            const StretchEnded& ended = {}, std::uint64_t mark = 0);

  const Inlet& current() const { return *current_; }
  std::vector<Inlet>& inlets() { return inlets_; }
  const std::vector<Inlet>& inlets() const { return inlets_; }

 private:
  Inlet* find(std::string_view receiver);
  static void begin_stretch(Inlet& inlet, Instant at, wire::HearingStream& out,
                            const StretchEnded& ended);
  static void end_stretch(Inlet& inlet, Instant at, wire::HearingStream& out,
                          const StretchEnded& ended);

  std::vector<Inlet> inlets_;
  Inlet* current_ = nullptr;
};

}  // namespace fieldfare::app
