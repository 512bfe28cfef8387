// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/trouble.h"

#include <array>
#include <cassert>

namespace fieldfare::wire {
namespace {

struct Entry {
  Trouble trouble;
  TroubleWords words;
};

constexpr auto kEntries = std::to_array<Entry>({
    {Trouble::none, {"", "", ""}},
    {Trouble::too_long, {"too-long", "the line is longer than 65536 bytes", "one row a line"}},
    {Trouble::zero_byte, {"zero-byte", "there is a byte of value zero in the row", "UTF-8 text"}},
    {Trouble::not_utf8, {"not-utf8", "the row is not UTF-8", "UTF-8 text"}},
    {Trouble::cell_count,
     {"cell-count", "the row has another number of cells than the header", ""}},
    {Trouble::stray_quote,
     {"stray-quote", "there is a quote where none may be",
      "cells with quotes in them wholly in quotes, those within doubled (RFC 4180)"}},
    {Trouble::open_quote,
     {"open-quote", "a quote opens and does not close where a cell can end",
      "a closing quote within 65536 bytes (RFC 4180)"}},
    {Trouble::no_time, {"no-time", "the row has no time", "`time` as RFC 3339"}},
    {Trouble::no_node, {"no-node", "the row names no node", "`node` as address or name"}},
    {Trouble::bad_time, {"bad-time", "no time", "RFC 3339, such as 2026-03-02T07:15:00.250Z"}},
    {Trouble::clock_not_believed,
     {"clock-not-believed", "a clock that is not set, or has overflowed",
      "a time from 2000-01-01 to 2038-01-19T03:14:07Z"}},
    {Trouble::bad_counter, {"bad-counter", "no sequence number", "decimal digits, below 2^64"}},
    {Trouble::bad_number, {"bad-number", "no number", "a finite decimal number, or nothing"}},
    {Trouble::bad_name,
     {"bad-name", "a name that cannot be taken",
      "at most 128 bytes, no control characters, and at most a million names in all"}},
    {Trouble::not_json, {"not-json", "the line is not JSON", "one JSON object (RFC 8259) a line"}},
    {Trouble::no_object,
     {"no-object", "the line is JSON but no object", "one JSON object (RFC 8259) a line"}},
    {Trouble::nested_value, {"nested-value", "an object or an array", "a number, a text or null"}},
    {Trouble::wrong_type,
     {"wrong-type", "a value of the wrong type",
      "texts for time, node, receiver and arrived_at, numbers for all else"}},
    {Trouble::repeated_key, {"repeated-key", "the key stands twice", "each key once"}},
    {Trouble::too_many_keys,
     {"too-many-keys", "more different keys than a log can have", "at most 4096 in all"}},
});

}  // namespace

const TroubleWords& words_for(Trouble trouble) {
  const Entry& entry = kEntries[static_cast<std::size_t>(trouble)];
  assert(entry.trouble == trouble);  // the table is in the order of the enum
  return entry.words;
}

}  // namespace fieldfare::wire
