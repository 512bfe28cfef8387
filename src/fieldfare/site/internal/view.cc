// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/view.h"

#include <algorithm>
#include <cassert>

#include "fieldfare/base/number_text.h"
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
  return std::get<std::int64_t>(entry->value.data);
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
  return View{std::get<Table>(entry->value.data), *key_called(key).section, entry->value.spot};
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
