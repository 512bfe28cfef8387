// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/json_rows.h"

#include <simdjson.h>

#include <algorithm>
#include <functional>
#include <string>
#include <unordered_map>
#include <vector>

#include "fieldfare/wire/internal/columns.h"
#include "fieldfare/wire/internal/row_builder.h"

namespace fieldfare::wire {
namespace {

namespace ondemand = simdjson::ondemand;

/// A key seen in some row. `row` is the last row that had it, which tells a key
/// that stands twice.
struct Key {
  Column column;
  std::uint64_t row = 0;
};

/// The keys seen so far. Rows mostly have the same keys in the same order, so
/// the key at the same position of the row before is tried first.
class Keys {
 public:
  Keys(fleet::Labels& labels, RowLog& log) : labels_{labels}, log_{log} {}

  /// Null where there are too many different ones.
  Key* find(ondemand::field& field, std::size_t position, simdjson::error_code& error) {
    if (position < order_.size() && field.key().unsafe_is_equal(order_[position]->column.name)) {
      return order_[position];
    }
    std::string_view name;
    error = field.unescaped_key().get(name);
    if (error != simdjson::SUCCESS) return nullptr;
    Key* const key = find_or_add(name);
    if (key != nullptr && is_plain(name)) remember(position, key);
    return key;
  }

 private:
  struct TextHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const {
      return std::hash<std::string_view>{}(text);
    }
  };

  Key* find_or_add(std::string_view name) {
    const auto known = keys_.find(name);
    if (known != keys_.end()) return &known->second;
    if (keys_.size() == kMostColumns) return nullptr;
    Key key{make_column(name, labels_, log_), 0};
    return &keys_.emplace(std::string{name}, std::move(key)).first->second;
  }

  /// Whether the name stands in JSON as it is, so that raw bytes may be compared.
  static bool is_plain(std::string_view name) {
    return name.find_first_of("\"\\") == std::string_view::npos;
  }

  void remember(std::size_t position, Key* key) {
    if (position < order_.size()) {
      order_[position] = key;
    } else if (position == order_.size()) {
      order_.push_back(key);
    }
  }

  fleet::Labels& labels_;
  RowLog& log_;
  std::unordered_map<std::string, Key, TextHash, std::equal_to<>> keys_;  // stable addresses
  std::vector<Key*> order_;
};

bool wants_text(ColumnKind kind) {
  return kind == ColumnKind::time || kind == ColumnKind::node || kind == ColumnKind::receiver ||
         kind == ColumnKind::arrived_at;
}

std::string_view without_blanks_after(std::string_view token) {
  const std::size_t last = token.find_last_not_of(" \t\r\n");
  return token.substr(0, last + 1);
}

}  // namespace

class JsonRows::Impl {
 public:
  Impl(fleet::Labels& labels, RowLog& log)
      : builder_{labels, NumberGrammar::json},
        keys_{labels, log},
        padded_(kLongestRow + simdjson::SIMDJSON_PADDING, '\0') {}

  /// Builds the hearing of one line; `readable` bytes from its beginning on may
  /// be looked at, which spares a copy where the parser's overshoot is covered.
  Fault build(std::string_view line, std::size_t readable) {
    ++row_;
    builder_.begin();
    line_ = line;
    const char* bytes = line.data();
    if (readable < line.size() + simdjson::SIMDJSON_PADDING) {
      std::copy(line.begin(), line.end(), padded_.begin());
      bytes = padded_.data();
      readable = padded_.size();
    }
    base_ = bytes;
    const simdjson::padded_string_view padded{bytes, line.size(), readable};
    ondemand::document document;
    if (const auto error = parser_.iterate(padded).get(document)) return damaged(error);
    return read(document);
  }

  const fleet::Hearing& hearing() const { return builder_.hearing(); }

 private:
  Fault read(ondemand::document& document) {
    ondemand::object object;
    if (const auto error = document.get_object().get(object)) {
      return error == simdjson::INCORRECT_TYPE ? whole(Trouble::no_object) : damaged(error);
    }
    std::size_t position = 0;
    for (auto next : object) {
      ondemand::field field;
      if (const auto error = std::move(next).get(field)) return damaged(error);
      const Fault fault = read_field(field, position++);
      if (fault.trouble != Trouble::none) return fault;
    }
    const bool at_end = document.current_location().error() == simdjson::OUT_OF_BOUNDS;
    if (!at_end) return whole(Trouble::not_json);
    const Trouble trouble = builder_.finish();
    if (trouble == Trouble::none) return {};
    return {trouble, line_, Fault::kWholeRow, {}, {}};
  }

  Fault read_field(ondemand::field& field, std::size_t position) {
    simdjson::error_code error = simdjson::SUCCESS;
    const std::size_t offset = static_cast<std::size_t>(field.key().raw() - 1 - base_);
    Key* const key = keys_.find(field, position, error);
    if (error != simdjson::SUCCESS) return damaged(error);
    if (key == nullptr) return {Trouble::too_many_keys, line_, offset, {}, {}};
    const Column& column = key->column;
    if (key->row == row_ && column.kind != ColumnKind::ignored) {
      return {Trouble::repeated_key, line_, offset, column.name, ""};
    }
    key->row = row_;
    std::string_view token = without_blanks_after(field.value().raw_json_token());
    const Trouble trouble = read_value(column, field.value(), token);
    if (trouble == Trouble::none) return {};
    if (trouble == Trouble::not_json) return {trouble, line_, offset, {}, {}};
    return {trouble, line_, offset, column.name, token};
  }

  Trouble read_value(const Column& column, ondemand::value& value, std::string_view token) {
    switch (token.empty() ? '\0' : token.front()) {
      case '"':
        return read_text(column, value, token);
      case '{':
      case '[':
        return Trouble::nested_value;
      case 'n':
        return token == "null" ? Trouble::none : Trouble::not_json;
      case 't':
      case 'f':
        return token == "true" || token == "false" ? not_held(column) : Trouble::not_json;
      default:
        return read_number(column, token);
    }
  }

  Trouble read_text(const Column& column, ondemand::value& value, std::string_view token) {
    if (token.size() < 2 || token.back() != '"') return Trouble::not_json;
    std::string_view text = token.substr(1, token.size() - 2);
    if (text.find('\\') != std::string_view::npos &&
        value.get_string().get(text) != simdjson::SUCCESS) {
      return Trouble::not_json;
    }
    if (!wants_text(column.kind)) return not_held(column);
    return text.empty() ? Trouble::none : builder_.set(column, text);
  }

  Trouble read_number(const Column& column, std::string_view token) {
    const bool plain_column = column.kind == ColumnKind::ignored || wants_text(column.kind);
    if (!plain_column && column.kind != ColumnKind::reading_maybe) {
      return builder_.set(column, token);
    }
    if (!is_number(token)) return Trouble::not_json;
    return column.kind == ColumnKind::reading_maybe ? builder_.set(column, token)
                                                    : not_held(column);
  }

  static bool is_number(std::string_view token) {
    return parse_number(token, NumberGrammar::json).has_value();
  }

  /// A value of a type that the column does not hold.
  static Trouble not_held(const Column& column) {
    const bool may_hold_anything =
        column.kind == ColumnKind::ignored || column.kind == ColumnKind::reading_maybe;
    return may_hold_anything ? Trouble::none : Trouble::wrong_type;
  }

  Fault damaged(simdjson::error_code error) const {
    return whole(error == simdjson::UTF8_ERROR ? Trouble::not_utf8 : Trouble::not_json);
  }
  Fault whole(Trouble trouble) const { return {trouble, line_, Fault::kWholeRow, {}, {}}; }

  RowBuilder builder_;
  Keys keys_;
  ondemand::parser parser_;
  std::string padded_;
  std::uint64_t row_ = 0;
  std::string_view line_;       ///< the row in work
  const char* base_ = nullptr;  ///< where the parser sees its first byte
};

JsonRows::JsonRows(fleet::Labels& labels, RowLog& log)
    : RowReader{log}, impl_{std::make_unique<Impl>(labels, log)} {}

JsonRows::~JsonRows() = default;

std::size_t JsonRows::take_row(const Line& line, std::string_view window, bool /*last*/,
                               const HearingSink& sink) {
  if (!is_blank(line.text)) {
    const Fault fault = impl_->build(line.text, window.size());
    if (fault.trouble == Trouble::none) {
      log().accept();
      sink(impl_->hearing());
    } else {
      log().skip(fault);
    }
  }
  log().next_lines(1);
  return line.size;
}

}  // namespace fieldfare::wire
