// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>

namespace fieldfare {

/// How many single-character changes turn `a` into `b`: putting in, leaving
/// out, replacing one, or swapping two neighbours (no character is touched
/// twice: "optimal string alignment").
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The known name that was most likely meant: nearest by edit distance, capitals
/// and `-` for `_` ignored, the first of equals. Nothing where even the nearest
/// differs in more than a third of its characters, or `unknown` is longer than
/// any name ought to be.
std::optional<std::string_view> nearest_name(std::string_view unknown,
                                             std::span<const std::string_view> known);

}  // namespace fieldfare
