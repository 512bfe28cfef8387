// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/tree_flat.h"

#include <nlohmann/json.hpp>

#include "fieldfare/base/number_text.h"

namespace fieldfare::learn {
namespace {

constexpr std::size_t kDeepest = 32;
constexpr std::size_t kMostLeaves = 1024;

using Json = nlohmann::json;

/// Follows the parser through a document. Stops it where the bounds are passed, so
/// that hostile nesting never gets deep.
class Flattener : public nlohmann::json_sax<Json> {
 public:
  bool null() override { return leave(); }
  bool boolean(bool value) override { return leaf({value ? "true" : "false", value ? 1.0 : 0.0}); }
  bool number_integer(number_integer_t value) override {
    return leaf({std::to_string(value), static_cast<double>(value)});
  }
  bool number_unsigned(number_unsigned_t value) override {
    return leaf({std::to_string(value), static_cast<double>(value)});
  }
  bool number_float(number_float_t value, const string_t& text) override {
    return leaf({text.empty() ? number_text(value) : text, value});
  }
  bool string(string_t& value) override { return leaf(cell_of(value, '.')); }
  bool binary(binary_t& value) override {
    constexpr std::string_view kDigits = "0123456789ABCDEF";
    std::string text;
    for (const std::uint8_t octet : value) {
      text += kDigits[octet >> 4];
      text += kDigits[octet & 15];
    }
    return leaf({std::move(text), std::nullopt});
  }
  bool start_object(std::size_t /*elements*/) override {
    if (!levels_.empty() && levels_.back().is_list) ++levels_.back().objects;
    return open(false);
  }
  bool key(string_t& value) override {
    levels_.back().key = value;
    return true;
  }
  bool end_object() override { return close(); }
  bool start_array(std::size_t /*elements*/) override { return open(true); }
  bool end_array() override {
    if (levels_.back().objects > 0) {
      document_.lists.emplace_back(pointer(levels_.size() - 1), levels_.back().objects);
    }
    return close();
  }
  bool parse_error(std::size_t /*at*/, const std::string& /*token*/,
                   const Json::exception& /*error*/) override {
    return false;
  }

  Document take() { return std::move(document_); }

 private:
  struct Level {
    bool is_list = false;
    std::string key;
    std::size_t index = 0;
    std::size_t objects = 0;
  };

  bool open(bool is_list) {
    if (levels_.size() == kDeepest) return false;
    levels_.push_back({is_list, {}, 0, 0});
    return true;
  }
  bool close() {
    levels_.pop_back();
    return leave();
  }
  /// The value is over: a list goes on with the next.
  bool leave() {
    if (!levels_.empty() && levels_.back().is_list) ++levels_.back().index;
    return true;
  }
  bool leaf(Cell cell) {
    if (document_.leaves.size() == kMostLeaves) return false;
    document_.leaves.push_back({pointer(levels_.size()), std::move(cell)});
    return leave();
  }

  /// Where the value stands that the first so many levels lead to.
  std::string pointer(std::size_t levels) const {
    std::string text;
    for (std::size_t i = 0; i < levels; ++i) {
      text += '/';
      if (levels_[i].is_list) {
        text += std::to_string(levels_[i].index);
        continue;
      }
      for (const char c : levels_[i].key) {
        text += c == '~' ? "~0" : c == '/' ? "~1" : std::string(1, c);
      }
    }
    return text;
  }

  std::vector<Level> levels_;
  Document document_;
};

std::optional<Document> flat(std::string_view octets, Json::input_format_t format) {
  Flattener flattener;
  if (!Json::sax_parse(octets.begin(), octets.end(), &flattener, format)) return std::nullopt;
  Document document = flattener.take();
  if (document.leaves.empty()) return std::nullopt;
  return document;
}

}  // namespace

std::optional<Document> flat_json(std::string_view text) {
  return flat(text, Json::input_format_t::json);
}

std::optional<Document> flat_cbor(std::string_view octets) {
  return flat(octets, Json::input_format_t::cbor);
}

}  // namespace fieldfare::learn
