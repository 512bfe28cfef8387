// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "fieldfare/learn/internal/slot_words.h"
#include "fieldfare/learn/internal/slots.h"
#include "fieldfare/learn/learn.h"

// What numbers measure, by what they are called and by what can be.
namespace fieldfare::learn {

struct ReadingGuess {
  std::string name;  ///< ending in its unit; `raw` where that isn't known
  double scale = 1;
  Sureness sureness = Sureness::guess;
  std::string remark;   ///< why it is no more than a guess; may be empty
  std::string decides;  ///< may be empty
};

/// Precondition: the slot holds numbers.
ReadingGuess guess_reading(const Slot& slot, const KeySense& sense, const SlotFacts& facts);

/// The factor that makes volts of what is called a supply; nothing where none of the
/// usual ones gives what a battery of a node has.
std::optional<double> supply_scale(const KeySense& sense, const SlotFacts& facts);

}  // namespace fieldfare::learn
