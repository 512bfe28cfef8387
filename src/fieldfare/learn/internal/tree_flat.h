// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fieldfare/learn/internal/slots.h"

// Documents as flat lists of what they say.
namespace fieldfare::learn {

/// A value that is no list and no object, and not null.
struct Leaf {
  std::string pointer;  ///< RFC 6901
  Cell cell;
};

struct Document {
  std::vector<Leaf> leaves;
  std::vector<std::pair<std::string, std::size_t>> lists;  ///< of objects: pointer, how many
};

/// Nothing where the octets are no JSON or no CBOR (with text for keys), nested more
/// than 32 deep, or hold more than 1,024 values.
std::optional<Document> flat_json(std::string_view text);
std::optional<Document> flat_cbor(std::string_view octets);

}  // namespace fieldfare::learn
