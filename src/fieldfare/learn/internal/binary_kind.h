// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/learn/internal/address_search.h"
#include "fieldfare/learn/internal/counter_search.h"
#include "fieldfare/learn/internal/cutting.h"
#include "fieldfare/learn/internal/framing_choice.h"
#include "fieldfare/learn/internal/kinds.h"
#include "fieldfare/learn/internal/readings.h"

// What is found out about octets, step by step.
namespace fieldfare::learn {

struct BinaryFound {
  FramingChoice framing;
  Cut cut;                               ///< of all octets
  std::vector<const CutFrame*> sound;    ///< of these, those that hold to the check
  std::vector<const CutFrame*> regular;  ///< of the usual length, and sound
  std::size_t length = 0;                ///< the usual one
  std::vector<const CutFrame*> told;     ///< of lengths that came often, and sound
  std::size_t told_length = 0;           ///< the least of these
  std::size_t frames = 0;                ///< that were cut before the check was known
  std::vector<Taken> taken;
  std::optional<AddressGuess> address;
  bool by_labels = false;
  std::optional<CounterGuess> counter;
  std::vector<Framed> framed;      ///< `told`, with node and order
  std::vector<std::string> nodes;  ///< their addresses, by number
  FieldGuesses fields;
};

/// The findings about all but the fields, in the order of learn.h.
std::vector<Finding> binary_findings(const BinaryFound& found, const Sample& sample);

/// How the sheet lays the frame out.
fleet::FrameFacts binary_layout(const BinaryFound& found);

/// What stands where in a frame of the usual length.
std::vector<Mark> binary_marks(const BinaryFound& found, const fleet::FrameFacts& layout);

}  // namespace fieldfare::learn
