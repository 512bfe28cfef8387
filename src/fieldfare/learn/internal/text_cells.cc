// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/text_cells.h"

#include <algorithm>
#include <array>

#include "fieldfare/base/number_text.h"
#include "fieldfare/learn/internal/slot_times.h"

namespace fieldfare::learn {
namespace {

constexpr std::size_t kMostColumns = 256;

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || static_cast<unsigned char>(c) >= 0x80;
}
bool is_hex_digit(char c) {
  return is_digit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}
bool is_blank(char c) { return c == ' ' || c == '\t'; }

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

std::vector<std::string_view> columns_of(std::string_view line, char separator) {
  std::vector<std::string_view> columns;
  if (separator == ' ') {
    for (line = trimmed(line); !line.empty() && columns.size() < kMostColumns;) {
      columns.push_back(line.substr(0, line.find_first_of(" \t")));
      line = trimmed(line.substr(columns.back().size()));
    }
    return columns;
  }
  while (columns.size() < kMostColumns) {
    const std::size_t end = line.find(separator);
    columns.push_back(trimmed(line.substr(0, end)));
    if (end == std::string_view::npos) break;
    line.remove_prefix(end + 1);
  }
  return columns;
}

bool is_hex(std::string_view text) {
  return text.size() > 2 && text[0] == '0' && (text[1] == 'x' || text[1] == 'X') &&
         std::all_of(text.begin() + 2, text.end(), is_hex_digit);
}

bool is_nan(std::string_view text) { return text == "NaN" || text == "nan" || text == "NAN"; }

/// Characters of the number that stands in front; 0 where there is none.
std::size_t number_size(std::string_view text, char decimal) {
  std::size_t size = !text.empty() && (text[0] == '-' || text[0] == '+') ? 1 : 0;
  std::size_t digits = 0;
  const auto take = [&] {
    while (size < text.size() && is_digit(text[size])) {
      ++size;
      ++digits;
    }
  };
  take();
  if (size + 1 < text.size() && text[size] == decimal && is_digit(text[size + 1])) {
    ++size;
    take();
  }
  return digits == 0 ? 0 : size;
}

/// Where a value begins that words stand before: a number behind a blank or a sign, else
/// one right behind a letter.
std::size_t value_at(std::string_view cell, char decimal) {
  std::size_t behind_letters = std::string_view::npos;
  for (std::size_t i = 1; i < cell.size(); ++i) {
    if (number_size(cell.substr(i), decimal) == 0) continue;
    const char before = cell[i - 1];
    if (is_blank(before) || before == ':' || before == '=' || before == '#') return i;
    const bool has_sign = !is_digit(cell[i]) && cell[i] != decimal;
    if (is_letter(before) && (has_sign || behind_letters == std::string_view::npos))
      behind_letters = i;
  }
  return behind_letters;
}

bool is_unit(std::string_view text) {
  constexpr std::size_t kLongestUnit = 12;
  return text.size() <= kLongestUnit && std::all_of(text.begin(), text.end(), [](char c) {
           return is_letter(c) || c == '%' || c == '/' || c == '^' || c == '.' || c == '*';
         });
}

bool is_key(std::string_view text) {
  constexpr std::size_t kLongestKey = 32;
  return !text.empty() && text.size() <= kLongestKey && is_letter(text[0]) &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return is_letter(c) || is_digit(c) || c == '_' || c == '-' || c == '.' || c == ' ';
         });
}

TextCell worded(std::string_view cell, std::size_t at, char decimal) {
  TextCell made{CellKind::worded, cell, trimmed(cell.substr(0, at)), {}, {}};
  const std::string_view rest = cell.substr(at);
  const std::string_view token = rest.substr(0, rest.find_first_of(" \t"));
  if (is_hex(token)) {
    made.value = token;
  } else {
    made.value = rest.substr(0, number_size(rest, decimal));
  }
  made.unit = trimmed(rest.substr(made.value.size()));
  if (!is_unit(made.unit)) made.kind = CellKind::junk;
  return made;
}

/// A date, a time of day or both, and nothing else.
bool is_time(std::string_view cell) {
  return looks_like_time(cell) &&
         cell.find_first_not_of("0123456789:-/.,+ TZtzUC") == std::string_view::npos;
}

/// What stands behind a time in front of it, as programs that print lines put it there.
std::string_view behind_time(std::string_view cell) {
  while (looks_like_time(cell)) {
    cell.remove_prefix(std::min(cell.find_first_of(" \t"), cell.size()));
    while (!cell.empty() && !is_letter(cell[0]) && !is_digit(cell[0])) cell.remove_prefix(1);
  }
  return cell;
}

TextCell cell_in(std::string_view cell, const LineStyle& style) {
  if (cell.empty()) return {};
  if (is_number(cell, style.decimal) || is_hex(cell) || is_nan(cell) || is_time(cell)) {
    return {CellKind::value, cell, {}, cell, {}};
  }
  // Addresses with colons may begin as times do: what is nothing but that is no time.
  if (const std::string_view rest = behind_time(cell); !rest.empty()) cell = rest;
  const std::size_t sign = cell.find(style.assignment);
  if (sign != std::string_view::npos && is_key(trimmed(cell.substr(0, sign)))) {
    return {
        CellKind::keyed, cell, trimmed(cell.substr(0, sign)), trimmed(cell.substr(sign + 1)), {}};
  }
  const bool is_one_word = cell.find_first_of(" \t") == std::string_view::npos;
  const std::size_t front = number_size(cell, style.decimal);
  if (front > 0) {
    const std::string_view unit = trimmed(cell.substr(front));
    if (is_unit(unit)) return {CellKind::worded, cell, {}, cell.substr(0, front), unit};
    return {is_one_word ? CellKind::token : CellKind::junk, cell, {}, cell, {}};
  }
  const std::size_t at = value_at(cell, style.decimal);
  if (at != std::string_view::npos) {
    TextCell made = worded(cell, at, style.decimal);
    if (!is_one_word || made.kind == CellKind::worded) return made;
  }
  if (is_one_word) return {CellKind::token, cell, {}, cell, {}};
  return {CellKind::phrase, cell, {}, cell, {}};
}

bool ends_in_punctuation(std::string_view text) {
  return text.ends_with(',') || text.ends_with(';') || text.ends_with(':') || text.ends_with('|');
}

/// How well the columns of a line are understood: their share, 0 to 1, and how many.
struct Clarity {
  double share = 0;
  std::size_t columns = 0;
};

Clarity clarity_of(std::string_view line, const LineStyle& style) {
  const auto cells = cells_of(line, style);
  double clear = 0;
  bool has_number = false;
  for (const TextCell& cell : cells) {
    const bool is_value = cell.kind == CellKind::value || cell.kind == CellKind::keyed ||
                          cell.kind == CellKind::worded;
    has_number = has_number || is_value;
    if (is_value || cell.kind == CellKind::empty) clear += 1;
    if (cell.kind == CellKind::token) clear += ends_in_punctuation(cell.all) ? 0 : 0.8;
    if (cell.kind == CellKind::phrase) clear += 0.3;
  }
  if (!has_number || cells.empty()) return {0, cells.size()};
  return {clear / static_cast<double>(cells.size()), cells.size()};
}

/// The sign that stands in most columns between a key and a value.
char assignment_in(std::span<const TextLine> lines, char separator) {
  std::array<std::size_t, 2> counts{};
  std::size_t cells = 0;
  for (const TextLine& line : lines) {
    for (const std::string_view cell : columns_of(line.text, separator)) {
      ++cells;
      for (std::size_t i = 0; i < counts.size(); ++i) {
        const std::size_t sign = cell.find(i == 0 ? '=' : ':');
        if (sign != std::string_view::npos && is_key(trimmed(cell.substr(0, sign)))) ++counts[i];
      }
    }
  }
  return counts[1] > counts[0] && 2 * counts[1] > cells ? ':' : '=';
}

bool has_decimal_commas(std::span<const TextLine> lines, char separator) {
  if (separator == ',') return false;
  std::size_t commas = 0;
  std::size_t points = 0;
  for (const TextLine& line : lines) {
    for (const std::string_view cell : columns_of(line.text, separator)) {
      if (cell.find(',') != std::string_view::npos && is_number(cell, ',')) ++commas;
      if (cell.find('.') != std::string_view::npos && is_number(cell, '.')) ++points;
    }
  }
  return commas > 10 * points;
}

}  // namespace

bool is_number(std::string_view text, char decimal) {
  std::string plain{text};
  if (decimal == ',') {
    if (text.find('.') != std::string_view::npos) return false;
    std::replace(plain.begin(), plain.end(), ',', '.');
  }
  return parse_number(plain).has_value();
}

std::vector<TextCell> cells_of(std::string_view line, const LineStyle& style) {
  std::vector<TextCell> cells;
  for (const std::string_view column : columns_of(line, style.separator)) {
    cells.push_back(cell_in(column, style));
  }
  return cells;
}

LineStyle style_of(std::span<const TextLine> lines) {
  constexpr std::size_t kLooked = 400;
  // The beginning may be a greeting: lines from all over count.
  std::vector<TextLine> some;
  const std::size_t apart = std::max<std::size_t>(1, lines.size() / kLooked);
  for (std::size_t i = 0; i < lines.size(); i += apart) some.push_back(lines[i]);
  LineStyle best;
  double best_score = -1;
  for (const char separator : {',', ';', '\t', '|', ' '}) {
    LineStyle style{separator, assignment_in(some, separator), '.'};
    if (has_decimal_commas(some, separator)) style.decimal = ',';
    double score = 0;
    for (const TextLine& line : some) {
      const Clarity clarity = clarity_of(line.text, style);
      // Several columns say more than one; but no more than their clearness does.
      score += clarity.share *
               (1 - 0.5 / static_cast<double>(std::max<std::size_t>(1, clarity.columns)));
    }
    constexpr double kClearlyBetter = 1.02;
    if (score > best_score * kClearlyBetter) {
      best = style;
      best_score = score;
    }
  }
  return best;
}

}  // namespace fieldfare::learn
