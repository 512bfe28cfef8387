// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/view.h"

#include <algorithm>
#include <cassert>

#include "fieldfare/base/number_text.h"
#include "fieldfare/site/internal/check.h"
#include "fieldfare/site/internal/frame_values.h"
#include "fieldfare/site/internal/values.h"

namespace fieldfare::site {

const Key& View::key_called(std::string_view name) const {
  const auto found = std::find_if(section_->keys.begin(), section_->keys.end(),
                                  [name](const Key& each) { return each.name == name; });
  assert(found != section_->keys.end());
  return *found;
}

const Entry* View::entry_of(const Key& key) const {
  const auto found = std::find_if(table_->begin(), table_->end(),
                                  [&key](const Entry& each) { return stands_for(key, each.key); });
  return found == table_->end() ? nullptr : &*found;
}

const Entry* View::sound_entry(std::string_view name) const {
  const Key& key = key_called(name);
  const Entry* entry = entry_of(key);
  return entry && !find_fault(key, *entry) ? entry : nullptr;
}

Spot View::spot_of(std::string_view key) const {
  const Entry* entry = entry_of(key_called(key));
  return entry ? entry->value.spot : spot_;
}

std::optional<std::string> View::text(std::string_view key) const {
  const Entry* entry = sound_entry(key);
  if (!entry) return std::nullopt;
  const auto* text = std::get_if<std::string>(&entry->value.data);
  return text ? std::optional{*text} : std::nullopt;
}

std::optional<double> View::number(std::string_view key) const {
  const Entry* entry = sound_entry(key);
  return entry ? number_in(entry->value) : std::nullopt;
}

std::optional<std::int64_t> View::whole(std::string_view key) const {
  const Entry* entry = sound_entry(key);
  if (!entry) return std::nullopt;
  const auto* number = std::get_if<std::int64_t>(&entry->value.data);
  return number ? std::optional{*number} : std::nullopt;
}

std::optional<int> View::small(std::string_view key) const {
  const auto number = whole(key);
  return number ? std::optional{static_cast<int>(*number)} : std::nullopt;
}

std::optional<bool> View::flag(std::string_view key) const {
  const Entry* entry = sound_entry(key);
  return entry ? std::optional{std::get<bool>(entry->value.data)} : std::nullopt;
}

std::vector<double> View::numbers(std::string_view key) const {
  std::vector<double> result;
  if (const Entry* entry = sound_entry(key)) {
    for (const Value& each : std::get<List>(entry->value.data)) {
      result.push_back(*number_in(each));
    }
  }
  return result;
}

std::vector<std::string> View::texts(std::string_view key) const {
  std::vector<std::string> result;
  if (const Entry* entry = sound_entry(key)) {
    for (const Value& each : std::get<List>(entry->value.data)) {
      result.push_back(std::get<std::string>(each.data));
    }
  }
  return result;
}

std::optional<fleet::Range> View::range(std::string_view key) const {
  const auto ends = numbers(key);
  return ends.empty() ? std::nullopt : std::optional{fleet::Range{ends[0], ends[1]}};
}

std::optional<fleet::Position> View::position(std::string_view key) const {
  const auto at = numbers(key);
  return at.empty() ? std::nullopt : std::optional{fleet::Position{at[0], at[1], at[2]}};
}

std::optional<Duration> View::duration(std::string_view key) const {
  const Entry* entry = sound_entry(key);
  return entry ? duration_in(key_called(key), *entry) : std::nullopt;
}

std::optional<std::chrono::year_month_day> View::date(std::string_view key) const {
  const Entry* entry = sound_entry(key);
  if (!entry) return std::nullopt;
  return std::get<std::chrono::year_month_day>(entry->value.data);
}

std::optional<Address> View::address(std::string_view key) const {
  const auto label = text(key);
  return label ? parse_address(*label) : std::nullopt;
}

std::optional<std::size_t> View::place_among_words(std::string_view key) const {
  const auto word = text(key);
  if (!word) return std::nullopt;
  const auto words = key_called(key).words;
  return static_cast<std::size_t>(std::find(words.begin(), words.end(), *word) - words.begin());
}

std::optional<char> View::character(std::string_view key) const {
  const auto one = text(key);
  return one ? std::optional{one->front()} : std::nullopt;
}

std::optional<fleet::Octets> View::octets(std::string_view key) const {
  const auto written = text(key);
  return written ? parse_octets(*written) : std::nullopt;
}

std::optional<fleet::BinaryForm> View::value_type(std::string_view key) const {
  const auto written = text(key);
  return written ? parse_value_type(*written) : std::nullopt;
}

std::optional<fleet::BitSpan> View::bits(std::string_view key) const {
  const auto ends = numbers(key);
  if (ends.empty()) return std::nullopt;
  return fleet::BitSpan{static_cast<int>(ends[0]), static_cast<int>(ends[1])};
}

std::optional<Instant> View::moment(std::string_view key) const {
  const Entry* entry = sound_entry(key);
  return entry ? moment_in(entry->value) : std::nullopt;
}

std::optional<std::uint16_t> View::pan_id(std::string_view key) const {
  if (const auto written = text(key)) return parse_pan_id(*written);
  const auto number = whole(key);
  return number ? std::optional{static_cast<std::uint16_t>(*number)} : std::nullopt;
}

std::vector<std::pair<std::int64_t, std::string>> View::words(std::string_view key) const {
  std::vector<std::pair<std::int64_t, std::string>> result;
  if (const Entry* entry = sound_entry(key)) {
    for (const Entry& each : std::get<Table>(entry->value.data)) {
      result.emplace_back(*parse_whole(each.key), std::get<std::string>(each.value.data));
    }
  }
  return result;
}

bool View::is_sound() const {
  Complaints complaints;
  check_section(*table_, *section_, spot_, complaints);
  return !complaints.has_errors();
}

std::vector<std::pair<double, double>> View::number_map(std::string_view key) const {
  std::vector<std::pair<double, double>> result;
  if (const Entry* entry = sound_entry(key)) {
    for (const Entry& each : std::get<Table>(entry->value.data)) {
      result.emplace_back(*parse_number(each.key), *number_in(each.value));
    }
  }
  std::sort(result.begin(), result.end());
  return result;
}

std::optional<View> View::table(std::string_view key) const {
  const Entry* entry = sound_entry(key);
  if (!entry) return std::nullopt;
  const auto* table = std::get_if<Table>(&entry->value.data);
  if (!table) return std::nullopt;
  return View{*table, *key_called(key).section, entry->value.spot};
}

std::vector<View> View::tables(std::string_view key) const {
  std::vector<View> result;
  if (const Entry* entry = sound_entry(key)) {
    for (const Value& each : std::get<List>(entry->value.data)) {
      result.emplace_back(std::get<Table>(each.data), *key_called(key).section, each.spot);
    }
  }
  return result;
}

std::vector<std::pair<std::string, View>> View::named_tables(std::string_view key) const {
  std::vector<std::pair<std::string, View>> result;
  if (const Entry* entry = sound_entry(key)) {
    for (const Entry& each : std::get<Table>(entry->value.data)) {
      const auto* table = std::get_if<Table>(&each.value.data);
      if (!table) continue;
      result.emplace_back(each.key, View{*table, *key_called(key).section, each.spot});
    }
  }
  return result;
}

}  // namespace fieldfare::site
