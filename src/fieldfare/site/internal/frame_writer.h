// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/fleet/sheet.h"

// The [frame] of a sheet as text; frame_reader.h reads it back.
namespace fieldfare::site {

/// `key = value` with its line end.
std::string toml_line(std::string_view key, std::string_view value);

/// A text between quotes, as a basic string of TOML 1.0.
std::string toml_text(std::string_view text);

/// The keys of [frame] itself, a line each, those that hold their default left out.
std::string frame_keys(const fleet::FrameFacts& frame);

/// The keys of one [[frame.field]].
std::string frame_field_keys(const fleet::FieldLayout& field);

/// The keys that say what is known of a reading; its name is not among them.
std::string field_facts_keys(const fleet::FieldFacts& facts);

}  // namespace fieldfare::site
