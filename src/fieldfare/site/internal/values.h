// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/sheet.h"
#include "fieldfare/site/internal/grammar.h"
#include "fieldfare/site/internal/tree.h"

namespace fieldfare::site {

/// A value as a message quotes it: `"text"` (cut where long), `42`, `[1, 2]`,
/// `a list of 9`, `a table`.
std::string describe(const Value& value);

/// The number in a value, whole or not; nothing for anything else.
std::optional<double> number_in(const Value& value);

/// The duration at a key: a text such as "90 s", or where the entry is called
/// `key_s`, a number of seconds.
std::optional<Duration> duration_in(const Key& key, const Entry& entry);

/// True where the entry stands for `key`: the same name, or, for durations, the
/// name with `_s`.
bool stands_for(const Key& key, std::string_view entry_name);

/// Where the value at `key` is not what the key takes; nothing where it is.
/// Looks at the value alone: tables are left to whoever knows their section.
std::optional<Spot> find_fault(const Key& key, const Entry& entry);

/// Shape of a name: 1 to 64 characters that take at most 128 bytes (what Labels
/// take), none of control, no blank at either end.
bool is_name(std::string_view text);

/// Shape of the name of a frame's field: lower-case letters, digits and `_`, a letter first.
bool is_field_name(std::string_view text);

/// Shape of the name of a reading: as above, and no column of logs that means something else.
bool is_reading_name(std::string_view text);

}  // namespace fieldfare::site
