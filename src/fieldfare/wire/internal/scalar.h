// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

#include "fieldfare/fleet/frame.h"

namespace fieldfare::wire {

/// A single value of a JSON, CBOR or SenML body. Nothing: null, not there.
/// Integers stay exact: unsigned ones as such, negative ones signed.
using Scalar = std::variant<std::monostate, bool, std::uint64_t, std::int64_t, double, std::string,
                            fleet::Octets>;

}  // namespace fieldfare::wire
