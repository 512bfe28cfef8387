// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/json_rows.h"

#include <algorithm>
#include <utility>

#include "fieldfare/wire/excerpt.h"
#include "fieldfare/wire/internal/columns.h"

namespace fieldfare::wire {
namespace {

bool holds_text(ColumnKind kind) {
  return kind == ColumnKind::time || kind == ColumnKind::node || kind == ColumnKind::receiver ||
         kind == ColumnKind::arrived_at;
}

/// Columns in which a value that cannot be taken is left out.
bool holds_anything(ColumnKind kind) {
  return kind == ColumnKind::ignored || kind == ColumnKind::reading_maybe;
}

std::string quoted_if_plain(std::string_view name) {
  const bool plain = std::all_of(name.begin(), name.end(), [](char c) {
    return c >= ' ' && c < 0x7F && c != '"' && c != '\\';
  });
  return plain ? '"' + std::string{name} + '"' : std::string{};
}

Trouble trouble_of(FlatObject::Step step) {
  switch (step) {
    case FlatObject::Step::damaged:
      return Trouble::not_json;
    case FlatObject::Step::not_utf8:
      return Trouble::not_utf8;
    case FlatObject::Step::nested:
      return Trouble::nested_value;
    case FlatObject::Step::no_object:
      return Trouble::no_object;
    case FlatObject::Step::member:
    case FlatObject::Step::end:
      break;
  }
  return Trouble::none;
}

}  // namespace

JsonRows::JsonRows(fleet::Labels& labels, RowLog& log)
    : RowReader{log}, labels_{labels}, builder_{labels, NumberGrammar::json, log.receiver()} {}

std::size_t JsonRows::take_row(const Line& line, std::string_view /*window*/, bool /*last*/,
                               const HearingSink& sink) {
  if (!is_blank(line.text)) {
    const Fault fault = build(line.text);
    if (fault.trouble == Trouble::none) {
      log().accept();
      sink(builder_.hearing());
    } else {
      log().skip(fault);
    }
  }
  log().next_lines(1);
  return line.size;
}

Fault JsonRows::build(std::string_view line) {
  ++row_;
  builder_.begin();
  object_.begin(line);
  FlatObject::Member member;
  FlatObject::Step step = object_.next(member, usual_key(0));
  for (std::size_t position = 0; step == FlatObject::Step::member; ++position) {
    const Fault fault = take_member(line, member, position);
    if (fault.trouble != Trouble::none) return fault;
    step = object_.next(member, usual_key(position + 1));
  }
  if (step == FlatObject::Step::not_utf8) {
    return {Trouble::not_utf8, line, well_formed_size(line), {}, {}};
  }
  if (step != FlatObject::Step::end) return {trouble_of(step), line, object_.offset(), {}, {}};
  const Trouble trouble = builder_.finish();
  if (trouble == Trouble::none) return {};
  const Column* const blamed = builder_.blamed();
  if (blamed == nullptr) return {trouble, line, Fault::kWholeRow, {}, {}};
  return {trouble, line, Fault::kWholeRow, blamed->name, {}};
}

Fault JsonRows::take_member(std::string_view line, const FlatObject::Member& member,
                            std::size_t position) {
  Key* const key = key_at(position, member);
  if (key == nullptr) return {Trouble::too_many_keys, line, member.key_offset, {}, {}};
  const Column& column = key->column;
  Trouble trouble = Trouble::none;
  std::size_t offset = member.value_offset;
  if (key->row == row_ && column.kind != ColumnKind::ignored) {
    trouble = Trouble::repeated_key;
    offset = member.key_offset;
  } else {
    trouble = set(column, member);
  }
  key->row = row_;
  if (trouble == Trouble::none) return {};
  return {trouble, line, offset, column.name, member.value};
}

Trouble JsonRows::set(const Column& column, const FlatObject::Member& member) {
  switch (member.type) {
    case FlatObject::Type::null:
      return Trouble::none;
    case FlatObject::Type::text:
      if (!holds_text(column.kind)) break;
      return member.value.empty() ? Trouble::none : builder_.set(column, member.value);
    case FlatObject::Type::number:
      if (holds_text(column.kind)) break;
      return builder_.set(column, member.value);
    case FlatObject::Type::truth:
      break;
  }
  return holds_anything(column.kind) ? Trouble::none : Trouble::wrong_type;
}

/// Rows mostly have the same keys in the same order.
std::string_view JsonRows::usual_key(std::size_t position) const {
  return position < usual_.size() ? std::string_view{usual_[position]->quoted} : std::string_view{};
}

JsonRows::Key* JsonRows::key_at(std::size_t position, const FlatObject::Member& member) {
  if (member.key_is_usual) return usual_[position];
  Key* const key = find_key(member.key);
  if (key == nullptr) return nullptr;
  if (position < usual_.size()) {
    usual_[position] = key;
  } else if (position == usual_.size()) {
    usual_.push_back(key);
  }
  return key;
}

JsonRows::Key* JsonRows::find_key(std::string_view name) {
  const auto known = keys_.find(name);
  if (known != keys_.end()) return &known->second;
  if (keys_.size() == kMostColumns) return nullptr;
  Key key{make_column(name, labels_, log()), quoted_if_plain(name), 0};
  return &keys_.emplace(std::string{name}, std::move(key)).first->second;
}

}  // namespace fieldfare::wire
