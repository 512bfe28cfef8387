// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/check.h"

#include <algorithm>
#include <tuple>

#include "fieldfare/base/nearest.h"
#include "fieldfare/site/internal/values.h"

namespace fieldfare::site {
namespace {

std::string quoted(std::string_view name) { return '`' + std::string{name} + '`'; }

const Key* find_key(const Section& section, std::string_view entry_name) {
  const auto found = std::find_if(section.keys.begin(), section.keys.end(),
                                  [&](const Key& each) { return stands_for(each, entry_name); });
  return found == section.keys.end() ? nullptr : &*found;
}

/// The names that a wrong key may have been meant for.
std::vector<std::string_view> known_names(const Section& section) {
  std::vector<std::string_view> names;
  for (const Key& key : section.keys) {
    if (key.form != Form::later) names.push_back(key.name);
  }
  return names;
}

void complain_of_unknown(const Entry& entry, const Section& section, Complaints& complaints) {
  std::string expected;
  if (!complaints.is_full()) expected = nearest_or_known(entry.key, known_names(section));
  const Value shown{entry.key, entry.spot};
  complaints.error(entry.spot,
                   "unknown key " + describe(shown) + " in " + std::string{section.title},
                   std::move(expected));
}

/// A place that reads `word` where one of `key.words` belongs gets the nearest.
std::string remedy(const Key& key, const Entry& entry) {
  const auto* text = std::get_if<std::string>(&entry.value.data);
  if (text && key.form == Form::choice) {
    if (const auto near = nearest_name(*text, key.words))
      return "did you mean " + quoted(*near) + "?";
  }
  return "expected " + expectation(key);
}

void check_tables_within(const Key& key, const Entry& entry, Complaints& complaints) {
  const auto* one = std::get_if<Table>(&entry.value.data);
  if (one && key.section && key.form != Form::named_tables) {
    check_section(*one, *key.section, entry.value.spot, complaints);
  }
  if (key.form == Form::tables) {
    for (const Value& each : std::get<List>(entry.value.data)) {
      check_section(std::get<Table>(each.data), *key.section, each.spot, complaints);
    }
  }
  if (key.form == Form::named_tables) {
    for (const Entry& each : std::get<Table>(entry.value.data)) {
      if (const auto* table = std::get_if<Table>(&each.value.data)) {
        check_section(*table, *key.section, each.spot, complaints);
      } else {
        complaints.error(each.value.spot, quoted(key.name) + " is " + describe(each.value),
                         "expected " + expectation(key));
      }
    }
  }
}

void check_entry(const Entry& entry, const Key& key, Complaints& complaints) {
  if (key.form == Form::later) {
    complaints.error(entry.spot, quoted(key.name) + " is not supported by this version",
                     "leave it out");
    return;
  }
  if (const auto fault = find_fault(key, entry)) {
    complaints.error(*fault, quoted(entry.key) + " is " + describe(entry.value),
                     remedy(key, entry));
    return;
  }
  check_tables_within(key, entry, complaints);
}

void check_given_once(const Table& table, const Key& key, Complaints& complaints) {
  const std::string in_seconds = std::string{key.name} + "_s";
  const Entry* other = find_entry(table, in_seconds);
  if (other && find_entry(table, key.name)) {
    complaints.error(other->spot, quoted(key.name) + " is given already",
                     "expected " + quoted(key.name) + " or " + quoted(in_seconds) + ", not both");
  }
}

}  // namespace

void Complaints::error(Spot spot, std::string what, std::string expected) {
  error({{file_, spot.line, spot.column}, std::move(what), std::move(expected)});
}

void Complaints::error(Complaint complaint) {
  if (is_full()) {
    ++dropped_errors_;
    return;
  }
  errors_.push_back(std::move(complaint));
}

void Complaints::warning(Spot spot, std::string what, std::string expected) {
  if (warnings_.size() >= kMost) {
    ++dropped_warnings_;
    return;
  }
  warnings_.push_back({{file_, spot.line, spot.column}, std::move(what), std::move(expected)});
}

std::vector<Complaint> Complaints::take(std::vector<Complaint>& list, std::size_t dropped) {
  std::stable_sort(list.begin(), list.end(), [](const Complaint& a, const Complaint& b) {
    return std::tie(a.place.file, a.place.line, a.place.column) <
           std::tie(b.place.file, b.place.line, b.place.column);
  });
  if (dropped > 0) list.push_back({{}, "and " + std::to_string(dropped) + " more", ""});
  return std::move(list);
}

void check_section(const Table& table, const Section& section, Spot spot, Complaints& complaints) {
  for (const Entry& entry : table) {
    if (const Key* key = find_key(section, entry.key)) {
      check_entry(entry, *key, complaints);
    } else {
      complain_of_unknown(entry, section, complaints);
    }
  }
  for (const Key& key : section.keys) {
    if (key.form == Form::duration) check_given_once(table, key, complaints);
    const bool given = std::any_of(table.begin(), table.end(),
                                   [&key](const Entry& each) { return stands_for(key, each.key); });
    if (key.required && !given) {
      complaints.error(spot, quoted(key.name) + " is missing in " + std::string{section.title},
                       "expected " + expectation(key));
    }
  }
}

std::string nearest_or_known(std::string_view word, std::span<const std::string_view> known) {
  constexpr std::size_t kShown = 12;
  if (const auto near = nearest_name(word, known)) return "did you mean " + quoted(*near) + "?";
  if (known.empty()) return "none is known";
  std::string text = "expected one of ";
  for (std::size_t i = 0; i < known.size() && i < kShown; ++i) {
    if (i > 0) text += ", ";
    text += quoted(known[i]);
  }
  if (known.size() > kShown) text += ", …";
  return text;
}

}  // namespace fieldfare::site
