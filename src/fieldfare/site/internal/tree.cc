// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/tree.h"

// Header-only, in this one file: nesting is then bounded by us and not by how
// the distribution built its library.
#define TOML_HEADER_ONLY 1
#define TOML_MAX_NESTED_VALUES 64
#include <toml++/toml.h>

#include <algorithm>
#include <optional>

namespace fieldfare::site {
namespace {

static_assert(TOML_MAX_NESTED_VALUES > kDeepest, "the message about depth is ours");

Spot spot_of(const toml::source_region& region) { return {region.begin.line, region.begin.column}; }

/// Walks over a text outside strings and comments and finds where a key has too
/// many parts or a value lies too deep. toml++ takes tables apart by recursion,
/// one level a dot, so a line of a million dots would end the program. Where
/// the text is not valid TOML the walk may misjudge what is a string; the
/// parser stops at that place anyhow.
class Nesting {
 public:
  explicit Nesting(std::string_view text) : text_{text} {}

  std::optional<Complaint> find_fault(const std::string& file) {
    while (at_ < text_.size()) {
      const Spot spot = spot_;
      step();
      if (dots_ >= kMostKeyParts) {
        return Complaint{{file, spot.line, spot.column},
                         "a key with too many dotted parts",
                         "expected at most " + std::to_string(kMostKeyParts)};
      }
      if (depth_ > kDeepest) {
        return Complaint{{file, spot.line, spot.column},
                         "brackets nested too deep",
                         "expected at most " + std::to_string(kDeepest) + " levels"};
      }
    }
    return std::nullopt;
  }

 private:
  void step() {
    const char c = text_[at_];
    if (c == '"' || c == '\'') {
      skip_string(c);
      return;
    }
    if (c == '#') {
      while (at_ < text_.size() && text_[at_] != '\n') advance();
      return;
    }
    if (c == '.') {
      ++dots_;
    } else if (is_one_of("=,[]{}\n", c)) {
      dots_ = 0;
    }
    if (is_one_of("[{", c)) ++depth_;
    if (is_one_of("]}", c) && depth_ > 0) --depth_;
    advance();
  }

  static bool is_one_of(std::string_view set, char c) {
    return set.find(c) != std::string_view::npos;
  }

  /// Columns count characters: a byte that continues one is not counted.
  void advance() {
    const auto byte = static_cast<unsigned char>(text_[at_]);
    if (byte == '\n') {
      ++spot_.line;
      spot_.column = 1;
    } else if ((byte & 0xC0U) != 0x80U) {
      ++spot_.column;
    }
    ++at_;
  }

  void skip_string(char quote) {
    const std::string triple(3, quote);
    const bool multi_line = text_.substr(at_, 3) == triple;
    const std::string_view end = multi_line ? std::string_view{triple} : text_.substr(at_, 1);
    for (std::size_t i = 0; i < end.size(); ++i) advance();
    while (at_ < text_.size() && text_.substr(at_, end.size()) != end) {
      if (!multi_line && text_[at_] == '\n') return;
      if (quote == '"' && text_[at_] == '\\') advance();
      if (at_ < text_.size()) advance();
    }
    for (std::size_t i = 0; i < end.size() && at_ < text_.size(); ++i) advance();
  }

  std::string_view text_;
  std::size_t at_ = 0;
  Spot spot_{1, 1};
  std::size_t dots_ = 0;
  std::size_t depth_ = 0;
};

Value convert(const toml::node& node);

Table convert_table(const toml::table& table) {
  Table result;
  result.reserve(table.size());
  for (const auto& [key, node] : table) {
    result.push_back({std::string{key.str()}, spot_of(key.source()), convert(node)});
  }
  std::stable_sort(result.begin(), result.end(),
                   [](const Entry& a, const Entry& b) { return a.spot < b.spot; });
  return result;
}

List convert_list(const toml::array& array) {
  List result;
  result.reserve(array.size());
  for (const toml::node& each : array) result.push_back(convert(each));
  return result;
}

Value convert(const toml::node& node) {
  const Spot spot = spot_of(node.source());
  switch (node.type()) {
    case toml::node_type::table:
      return {convert_table(*node.as_table()), spot};
    case toml::node_type::array:
      return {convert_list(*node.as_array()), spot};
    case toml::node_type::string:
      return {node.as_string()->get(), spot};
    case toml::node_type::integer:
      return {node.as_integer()->get(), spot};
    case toml::node_type::floating_point:
      return {node.as_floating_point()->get(), spot};
    case toml::node_type::boolean:
      return {node.as_boolean()->get(), spot};
    case toml::node_type::date: {
      const toml::date& date = node.as_date()->get();
      return {
          std::chrono::year_month_day{std::chrono::year{date.year}, std::chrono::month{date.month},
                                      std::chrono::day{date.day}},
          spot};
    }
    default:
      return {TimeOfDay{}, spot};
  }
}

Complaint complaint_at(const std::string& file, Spot spot, std::string what, std::string expected) {
  return {{file, spot.line, spot.column}, std::move(what), std::move(expected)};
}

}  // namespace

Result<Table, Complaint> parse_tree(std::string_view text, const std::string& file) {
  if (text.size() > kMostBytes) {
    return Failure{complaint_at(file, {}, "the file has " + std::to_string(text.size()) + " bytes",
                                "expected at most " + std::to_string(kMostBytes))};
  }
  if (auto fault = Nesting{text}.find_fault(file)) return Failure{*std::move(fault)};
  try {
    return convert_table(toml::parse(text, file));
  } catch (const toml::parse_error& error) {
    return Failure{complaint_at(file, spot_of(error.source()), std::string{error.description()},
                                "expected TOML 1.0")};
  }
}

const Entry* find_entry(const Table& table, std::string_view key) {
  const auto found = std::find_if(table.begin(), table.end(),
                                  [key](const Entry& each) { return each.key == key; });
  return found == table.end() ? nullptr : &*found;
}

}  // namespace fieldfare::site
