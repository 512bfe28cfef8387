// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

namespace fieldfare::site {

/// What may stand at a key.
enum class Form : std::uint8_t {
  name,             ///< 1 to 64 characters and 128 bytes, none of control, no blank at an end
  text,             ///< as name, up to 256 characters
  any_text,         ///< up to 256 characters, none of control; may be empty
  character,        ///< one ASCII character, none of control but the tab
  choice,           ///< one of Key::words; in the order of the enumeration where there is one
  choices,          ///< several of Key::words
  flag,             ///< true or false
  number,           ///< whole or not, Key::least to Key::most
  whole,            ///< a whole number, Key::least to Key::most
  number_or_word,   ///< a number, or one of Key::words
  numbers,          ///< one or more numbers
  range,            ///< [low, high]
  position,         ///< [x, y, z]
  number_map,       ///< a table from numbers to numbers
  duration,         ///< "90 s"; or `key_s = 90`
  date,             ///< 2026-03-02
  address,          ///< hex digits as on the label
  timezone,         ///< shape of an IANA name
  table,            ///< one table of Key::section
  tables,           ///< an array of such tables
  text_or_table,    ///< a text, or one table of Key::section
  whole_or_table,   ///< a whole number, or one table of Key::section
  whole_or_name,    ///< a whole number, or a name
  octets,           ///< hex digits "7E 01", or "text:$" and characters
  octets_or_whole,  ///< these, or a whole number
  value_type,       ///< how a value is sent: `i16be`
  bits,             ///< [low, high], whole numbers that don't fall
  words,            ///< a table from whole numbers to texts
  moment,           ///< 2000-01-01, or an RFC 3339 date-time
  pan_id,           ///< "0x4D21", or 0x4D21
  named_tables,     ///< a table whose keys are names and whose values are such tables
  later,            ///< part of the format's plan, not read by this version
};

struct Section;

/// One key of a section: what it may hold and what it means.
struct Key {
  std::string_view name;
  Form form;
  std::string_view meaning;
  std::string_view unit = {};  ///< of numbers; empty for counts and shares
  double least = 0;
  double most = 0;
  bool required = false;
  std::span<const std::string_view> words = {};
  const Section* section = nullptr;
};

/// A key that the format plans and this version refuses.
constexpr Key later(std::string_view name, std::string_view meaning) {
  return {.name = name, .form = Form::later, .meaning = meaning};
}

/// A table that files may hold.
struct Section {
  std::string_view title;  ///< as people write it: `[radio]`, `[[node]]`
  std::span<const Key> keys;
};

/// Keys of what is known of a reading, which stand in two tables.
inline constexpr Key kPlausible = {.name = "plausible",
                                   .form = Form::range,
                                   .meaning = "outside, the reading can't be believed",
                                   .unit = "the field's unit",
                                   .least = -1e9,
                                   .most = 1e9};
inline constexpr Key kResolution = {.name = "resolution",
                                    .form = Form::number,
                                    .meaning = "smallest step",
                                    .unit = "the field's unit",
                                    .least = 1e-9,
                                    .most = 1e9};
inline constexpr Key kAccuracy = {.name = "accuracy",
                                  .form = Form::number,
                                  .meaning = "largest error of either sign",
                                  .unit = "the field's unit",
                                  .least = 0,
                                  .most = 1e9};
inline constexpr Key kMaxRate = {.name = "max_rate_per_min",
                                 .form = Form::number,
                                 .meaning = "fastest change that the place can bring",
                                 .unit = "the field's unit a minute",
                                 .least = 0,
                                 .most = 1e9};

/// `[frame]`, in sheets of nodes and of receivers.
extern const Section kFrame;

/// The files of a site folder. These tables are all that the readers know:
/// schemas, documents and messages follow them, and a test compares.
extern const Section kSiteFile;
extern const Section kNodeSheetFile;
extern const Section kReceiverSheetFile;
extern const Section kCellSheetFile;

/// "a number of dBm from -150 to 0": what `key` expects, as a clause.
std::string expectation(const Key& key);

/// A number as people write it: shortest form, no exponent where it can be avoided.
std::string plain_number(double value);

}  // namespace fieldfare::site
