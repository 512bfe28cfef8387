// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/values.h"

#include <algorithm>
#include <cmath>

#include "fieldfare/base/address.h"
#include "fieldfare/base/number_text.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/site/internal/frame_values.h"

namespace fieldfare::site {
namespace {

constexpr std::size_t kLongestName = 64;
constexpr std::size_t kLongestText = 256;
constexpr std::size_t kLongestList = 1024;

bool is_continuation(char c) { return (static_cast<unsigned char>(c) & 0xC0U) == 0x80U; }

std::size_t characters(std::string_view text) {
  return text.size() -
         static_cast<std::size_t>(std::count_if(text.begin(), text.end(), is_continuation));
}

bool is_control(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte < 0x20 || byte == 0x7F;
}

bool is_clean_text(std::string_view text, std::size_t longest) {
  return !text.empty() && characters(text) <= longest && text.front() != ' ' &&
         text.back() != ' ' && std::none_of(text.begin(), text.end(), is_control);
}

bool is_any_text(std::string_view text) {
  return characters(text) <= kLongestText && std::none_of(text.begin(), text.end(), is_control);
}

bool is_character(std::string_view text) {
  return text.size() == 1 && (text.front() == '\t' || !is_control(text.front())) &&
         !is_continuation(text.front()) && static_cast<unsigned char>(text.front()) < 0x80;
}

const std::string* text_in(const Value& value) { return std::get_if<std::string>(&value.data); }

bool within(const Key& key, double number) {
  return number >= key.least && number <= key.most;  // false for NaN
}

bool is_number(const Key& key, const Value& value) {
  const auto number = number_in(value);
  return number && within(key, *number);
}

bool is_whole(const Key& key, const Value& value) {
  return std::holds_alternative<std::int64_t>(value.data) && is_number(key, value);
}

bool is_table(const Value& value) { return std::holds_alternative<Table>(value.data); }

bool is_pan_id(const Value& value) {
  constexpr std::int64_t kLast = 0xFFFE;
  const auto* id = std::get_if<std::int64_t>(&value.data);
  return id && *id >= 0 && *id <= kLast;
}

bool is_word(const Key& key, const Value& value) {
  const std::string* text = text_in(value);
  return text && std::find(key.words.begin(), key.words.end(), *text) != key.words.end();
}

/// `Area/Location`, or a single word such as `UTC`. Only the shape: which zones
/// exist is known to the machine that shows times, not to this file.
bool is_timezone(std::string_view text) {
  const auto allowed = [](char c) {
    return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' ||
           c == '+' || c == '-' || c == '/';
  };
  return !text.empty() && text.size() <= kLongestName && text.front() != '/' &&
         text.back() != '/' && text.find("//") == std::string_view::npos &&
         std::all_of(text.begin(), text.end(), allowed);
}

bool is_date(const Value& value) {
  const auto* date = std::get_if<std::chrono::year_month_day>(&value.data);
  return date && date->ok();
}

/// The first element that is not as `good` says, the list itself where it has
/// fewer than `fewest` or more than `most` elements, or is no list.
template <class Good>
std::optional<Spot> fault_in_list(const Value& value, std::size_t fewest, std::size_t most,
                                  Good good) {
  const auto* list = std::get_if<List>(&value.data);
  if (!list || list->size() < fewest || list->size() > most) return value.spot;
  const auto bad = std::find_if_not(list->begin(), list->end(), good);
  if (bad == list->end()) return std::nullopt;
  return bad->spot;
}

std::optional<Spot> fault_in_range(const Key& key, const Value& value) {
  const auto good = [&key](const Value& each) { return is_number(key, each); };
  if (const auto spot = fault_in_list(value, 2, 2, good)) return spot;
  const auto& list = std::get<List>(value.data);
  if (*number_in(list[0]) >= *number_in(list[1])) return value.spot;
  return std::nullopt;
}

std::optional<Spot> fault_in_bits(const Key& key, const Value& value) {
  const auto good = [&key](const Value& each) { return is_whole(key, each); };
  if (const auto spot = fault_in_list(value, 2, 2, good)) return spot;
  const auto& list = std::get<List>(value.data);
  if (*number_in(list[0]) > *number_in(list[1])) return value.spot;
  return std::nullopt;
}

std::optional<Spot> fault_in_words(const Value& value) {
  const auto* table = std::get_if<Table>(&value.data);
  if (!table || table->empty()) return value.spot;
  for (const Entry& each : *table) {
    if (!parse_whole(each.key)) return each.spot;
    const std::string* word = text_in(each.value);
    if (!word || !is_clean_text(*word, kLongestText)) return each.value.spot;
  }
  return std::nullopt;
}

std::optional<Spot> fault_in_number_map(const Key& key, const Value& value) {
  const auto* table = std::get_if<Table>(&value.data);
  if (!table || table->empty() || table->size() > kLongestList) return value.spot;
  for (const Entry& each : *table) {
    if (!parse_number(each.key)) return each.spot;
    if (!is_number(key, each.value)) return each.value.spot;
  }
  return std::nullopt;
}

bool is_sound_scalar(const Key& key, const Entry& entry) {
  const Value& value = entry.value;
  const std::string* text = text_in(value);
  switch (key.form) {
    case Form::name:
      return text && is_name(*text);
    case Form::text:
      return text && is_clean_text(*text, kLongestText);
    case Form::choice:
      return is_word(key, value);
    case Form::flag:
      return std::holds_alternative<bool>(value.data);
    case Form::number:
      return is_number(key, value);
    case Form::whole:
      return is_whole(key, value);
    case Form::number_or_word:
      return is_number(key, value) || is_word(key, value);
    case Form::duration: {
      const auto duration = duration_in(key, entry);
      return duration && within(key, duration->in_seconds());
    }
    case Form::date:
      return is_date(value);
    case Form::address:
      return text && parse_address(*text);
    case Form::timezone:
      return text && is_timezone(*text);
    case Form::any_text:
      return text && is_any_text(*text);
    case Form::character:
      return text && is_character(*text);
    case Form::octets:
      return text && parse_octets(*text);
    case Form::octets_or_whole:
      return text ? parse_octets(*text).has_value() : is_whole(key, value);
    case Form::value_type:
      return text && parse_value_type(*text);
    case Form::moment:
      return moment_in(value).has_value();
    case Form::pan_id:
      return text ? parse_pan_id(*text).has_value() : is_pan_id(value);
    case Form::text_or_table:
      return text ? is_clean_text(*text, kLongestText) : is_table(value);
    case Form::whole_or_table:
      return is_whole(key, value) || is_table(value);
    case Form::whole_or_name:
      return text ? is_name(*text) : is_whole(key, value);
    case Form::table:
    case Form::named_tables:
      return is_table(value);
    default:
      return false;
  }
}

std::string describe_list(const List& list) {
  constexpr std::size_t kShown = 4;
  const bool is_plain = std::none_of(list.begin(), list.end(), [](const Value& each) {
    return std::holds_alternative<List>(each.data) || std::holds_alternative<Table>(each.data);
  });
  if (list.size() > kShown || !is_plain) return "a list of " + std::to_string(list.size());
  std::string text = "[";
  for (const Value& each : list) text += (text.size() > 1 ? ", " : "") + describe(each);
  return text + ']';
}

}  // namespace

bool is_name(std::string_view text) {
  return text.size() <= fleet::Labels::kLongestName && is_clean_text(text, kLongestName);
}

bool is_field_name(std::string_view text) {
  const auto allowed = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
  };
  return is_name(text) && text.front() >= 'a' && text.front() <= 'z' &&
         std::all_of(text.begin(), text.end(), allowed);
}

bool is_reading_name(std::string_view text) {
  constexpr std::string_view kTaken[] = {"time",   "node", "receiver",  "seq",        "rssi_dbm",
                                         "snr_db", "lqi",  "noise_dbm", "arrived_at", "supply_v"};
  return is_field_name(text) &&
         std::find(std::begin(kTaken), std::end(kTaken), text) == std::end(kTaken);
}

std::string describe(const Value& value) {
  constexpr std::size_t kShown = 40;
  if (const std::string* text = text_in(value)) {
    if (text->size() <= kShown) return '"' + *text + '"';
    std::size_t cut = kShown;
    while (is_continuation((*text)[cut])) --cut;
    return '"' + text->substr(0, cut) + "…\"";
  }
  if (const auto number = number_in(value)) return plain_number(*number);
  if (const bool* flag = std::get_if<bool>(&value.data)) return *flag ? "true" : "false";
  if (const List* list = std::get_if<List>(&value.data)) return describe_list(*list);
  if (std::holds_alternative<Table>(value.data)) return "a table";
  return is_date(value) ? "a date" : "a time of day";
}

std::optional<double> number_in(const Value& value) {
  if (const auto* whole = std::get_if<std::int64_t>(&value.data))
    return static_cast<double>(*whole);
  if (const auto* number = std::get_if<double>(&value.data)) return *number;
  return std::nullopt;
}

std::optional<Duration> duration_in(const Key& key, const Entry& entry) {
  if (entry.key == key.name) {
    const std::string* text = text_in(entry.value);
    return text ? parse_duration(*text) : std::nullopt;
  }
  const auto seconds = number_in(entry.value);
  // Checked before the conversion, which is undefined for what does not fit.
  if (!seconds || !within(key, *seconds)) return std::nullopt;
  return Duration{std::llround(*seconds * 1e9)};
}

bool stands_for(const Key& key, std::string_view entry_name) {
  if (entry_name == key.name) return true;
  return key.form == Form::duration && entry_name.size() == key.name.size() + 2 &&
         entry_name.starts_with(key.name) && entry_name.ends_with("_s");
}

std::optional<Spot> find_fault(const Key& key, const Entry& entry) {
  const Value& value = entry.value;
  switch (key.form) {
    case Form::choices:
      return fault_in_list(value, 1, key.words.size(),
                           [&key](const Value& each) { return is_word(key, each); });
    case Form::numbers:
      return fault_in_list(value, 1, kLongestList,
                           [&key](const Value& each) { return is_number(key, each); });
    case Form::position:
      return fault_in_list(value, 3, 3, [&key](const Value& each) { return is_number(key, each); });
    case Form::range:
      return fault_in_range(key, value);
    case Form::bits:
      return fault_in_bits(key, value);
    case Form::words:
      return fault_in_words(value);
    case Form::number_map:
      return fault_in_number_map(key, value);
    case Form::tables:
      return fault_in_list(value, 0, kMostBytes, [](const Value& each) {
        return std::holds_alternative<Table>(each.data);
      });
    default:
      if (is_sound_scalar(key, entry)) return std::nullopt;
      return value.spot;
  }
}

}  // namespace fieldfare::site
