// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "fieldfare/base/instant.h"

namespace fieldfare::fleet {

/// Small numbers that stand for names within one run; Labels hands them out.
/// They depend on the order of the input, so nothing that is shown or compared
/// between runs may be ordered by them.
enum class NodeIndex : std::uint32_t {};
enum class ReceiverIndex : std::uint32_t {};
enum class FieldIndex : std::uint32_t {};

/// One value a node reported, in the unit that its field's name ends in.
struct Reading {
  FieldIndex field;
  double value;
};

/// A report as one receiver heard it. What was not given is absent.
struct Hearing {
  Instant time;                       ///< when the receiver heard it
  std::optional<Instant> arrived_at;  ///< when it reached us, where later
  NodeIndex node{};
  ReceiverIndex receiver{};
  std::optional<std::uint64_t> sequence;  ///< counter as sent
  std::optional<double> rssi_dbm;
  std::optional<double> snr_db;
  std::optional<double> lqi;
  std::optional<double> noise_dbm;
  std::optional<double> supply_v;
  std::span<const Reading> readings;  ///< owned by the source, valid until its next hearing
  bool batched = false;      ///< delivered with others of its node and without a time of its own:
                             ///< `time` is the delivery's, no beat
  bool provoked = false;     ///< somebody caused it by hand: it says nothing about the beat
  bool implausible = false;  ///< carries a value that cannot be in its unit
};

}  // namespace fieldfare::fleet
