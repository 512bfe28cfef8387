// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "fieldfare/learn/learn.h"

// The ways in which bytes can carry reports. Each looks at the sample alone and
// says how well it explains it; the best one is taken.
namespace fieldfare::learn {

struct Explained {
  Learnt learnt;
  double share = 0;  ///< of all octets, those in frames that hold to what was found
};

/// Lines of text, in columns, of keys and values or of words with numbers between.
std::optional<Explained> learn_text(const Sample& sample);
/// Documents in JSON or CBOR, SenML among them; one a message, one a line, or one a frame.
std::optional<Explained> learn_tree(const Sample& sample);
/// Octets: framing, check, address, counter, fields.
std::optional<Explained> learn_binary(const Sample& sample);

}  // namespace fieldfare::learn
