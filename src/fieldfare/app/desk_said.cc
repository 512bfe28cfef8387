// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_said.h"

#include <string_view>
#include <utility>

#include "fieldfare/base/number_text.h"

namespace fieldfare::app {
namespace {

constexpr std::string_view kLabel = "label";
constexpr std::string_view kProvoke = "provoke";
constexpr std::string_view kName = "name";
constexpr std::string_view kNote = "note";
constexpr std::string_view kValue = "value";
constexpr std::string_view kRemind = "remind";

std::string behind(std::string_view word, const std::string& text) {
  return std::string{word} + ' ' + text;
}

std::string_view take_word(std::string_view& text) {
  const std::size_t end = std::min(text.find(' '), text.size());
  const std::string_view word = text.substr(0, end);
  text.remove_prefix(std::min(end + 1, text.size()));
  return word;
}

struct Teller {
  std::optional<Said> operator()(const work::TypedLabel& deed) const {
    return Said{deed.digits, std::string{kLabel}};
  }
  std::optional<Said> operator()(const work::DoProvoke& deed) const {
    return Said{deed.digits, std::string{kProvoke}};
  }
  std::optional<Said> operator()(const work::DoName& deed) const {
    return Said{deed.key, behind(kName, deed.name)};
  }
  std::optional<Said> operator()(const work::DoNote& deed) const {
    return Said{deed.key, behind(kNote, deed.note)};
  }
  std::optional<Said> operator()(const work::DoValue& deed) const {
    return Said{deed.key, behind(kValue, deed.field) + ' ' + number_text(deed.value) + ' ' +
                              number_text(deed.tolerance)};
  }
  std::optional<Said> operator()(const work::DoRemind& deed) const {
    if (!deed.due) return std::nullopt;
    return Said{deed.key, behind(kRemind, to_rfc3339(*deed.due))};
  }
  std::optional<Said> operator()(const work::DoSave&) const { return std::nullopt; }
  std::optional<Said> operator()(const work::DoLeave&) const { return std::nullopt; }
};

std::optional<work::Deed> value_of(const std::string& key, std::string_view rest) {
  const std::string field{take_word(rest)};
  const auto value = parse_number(take_word(rest));
  const auto tolerance = parse_number(rest);
  if (field.empty() || !value || !tolerance) return std::nullopt;
  return work::DoValue{key, field, *value, *tolerance};
}

std::optional<work::Deed> remind_of(const std::string& key, std::string_view due) {
  const auto at = parse_rfc3339(due);
  if (!at) return std::nullopt;
  return work::DoRemind{key, at};
}

}  // namespace

std::optional<Said> said(const work::Deed& deed) { return std::visit(Teller{}, deed); }

std::optional<work::Deed> deed_of(const wire::LoggedBytes& logged) {
  if (logged.event != wire::ByteEvent::said) return std::nullopt;
  std::string_view rest = logged.topic;
  const std::string_view word = take_word(rest);
  if (word == kLabel) return work::TypedLabel{logged.receiver};
  if (word == kProvoke) return work::DoProvoke{logged.receiver};
  if (word == kName) return work::DoName{logged.receiver, std::string{rest}};
  if (word == kNote) return work::DoNote{logged.receiver, std::string{rest}};
  if (word == kRemind) return remind_of(logged.receiver, rest);
  if (word == kValue) return value_of(logged.receiver, rest);
  return std::nullopt;
}

}  // namespace fieldfare::app
