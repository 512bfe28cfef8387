// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/fleet/sheet.h"
#include "fieldfare/learn/internal/framed.h"
#include "fieldfare/learn/learn.h"

// What the octets say that are neither address nor counter nor check.
namespace fieldfare::learn {

/// A number that was read, of one node at one time.
struct Sampled {
  std::size_t node = 0;
  std::optional<Instant> at;
  double value = 0;
};

/// How a raw number becomes what an instrument beside the node said.
struct Pinned {
  double scale = 1;
  double offset = 0;
  double misfit = 0;            ///< largest distance from the instrument's values, in its unit
  bool scale_is_usual = false;  ///< a power of ten, a half, quarter or fifth of one, or a power
                                ///< of two
  double wonder_bits = 0;       ///< minus log2 of how likely chance makes such an agreement
};

/// What a raw number could be, by the form in which it is sent.
struct RawRange {
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
};

/// The scale and offset with which the samples agree with the instrument's values
/// of this field; nothing where none of the usual ones does. One value pins a
/// scale of the usual kind with offset 0 or, more seldom, one of the usual offsets,
/// -40 and -273.15; several at different levels pin any.
/// Where several do, the one that is no wonder by chance, usual, and lets the number
/// say what a node that measures such a quantity must (`range`).
std::optional<Pinned> pin(std::span<const Sampled> samples, std::span<const InstrumentValue> values,
                          std::span<const std::string> node_labels, const RawRange& range = {});

/// Fields found in octets, with what is sure of each.
struct FieldGuesses {
  std::vector<fleet::FieldLayout> fields;  ///< in the order of octets, by AtOctet
  std::vector<fleet::FieldFacts> facts;
  std::vector<Finding> findings;  ///< `field` counts in `fields` here
  bool opaque = false;            ///< what is left looks enciphered
};

/// Searches the octets that are not taken, in frames of one length: constants and
/// headers, a network's number (constant for most nodes, another for one or few),
/// levels of the signal, supply, and candidates for readings (width, sign and
/// byte order by their smoothness against time). `labels`: of node numbers, the
/// address as text.
FieldGuesses guess_fields(std::span<const Framed> frames, std::span<const Taken> taken,
                          std::span<const std::string> node_labels,
                          std::span<const InstrumentValue> values);

}  // namespace fieldfare::learn
