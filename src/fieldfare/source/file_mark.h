// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>

namespace fieldfare::source {

/// The mark of the place `octets` before that of `mark` in the file at `path`:
/// where to go on so that a frame which isn't whole yet is read again. Nothing
/// where the file can't be read, or has no such place.
std::optional<std::uint64_t> mark_before(const std::string& path, std::uint64_t mark,
                                         std::uint64_t octets);

}  // namespace fieldfare::source
