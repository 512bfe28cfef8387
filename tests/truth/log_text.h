// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "generator.h"

namespace fieldfare::truth {

/// The rows as a log in CSV: `time,node,receiver,seq,rssi_dbm`, times in RFC 3339
/// UTC with nine decimals, receivers `r1`, `r2`, nodes as in node_address().
std::string csv_text(std::span<const Row> rows);

/// A locally administered EUI-64 in 16 hex digits: 02000000 and the number.
std::string node_address(std::uint32_t node);

/// Appends `YYYY-MM-DDThh:mm:ss.nnnnnnnnnZ`.
void append_time(std::int64_t time_ns, std::string& text);

/// Reads RFC 3339 in UTC with `Z` and up to nine decimals; nothing else.
std::optional<std::int64_t> read_time(std::string_view text);

}  // namespace fieldfare::truth
