// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/text_table.h"

#include <algorithm>
#include <map>

#include "fieldfare/learn/internal/slot_times.h"
#include "fieldfare/learn/internal/slot_words.h"

namespace fieldfare::learn {
namespace {

using Cells = std::vector<TextCell>;

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

bool has_digit(std::string_view text) { return std::any_of(text.begin(), text.end(), is_digit); }
bool has_letter(std::string_view text) { return std::any_of(text.begin(), text.end(), is_letter); }

bool is_missing(const TextCell& cell) {
  return cell.kind == CellKind::empty || cell.all == "NaN" || cell.all == "nan" ||
         cell.all == "NAN";
}

std::string_view first_word(std::string_view line) {
  const std::size_t first = std::min(line.find_first_not_of(" \t"), line.size());
  line.remove_prefix(first);
  return line.substr(0, line.find_first_of(" \t,;"));
}

/// A value or a word alone in its column; digits of an address look like numbers with
/// other things around them.
bool is_bare(const TextCell& cell) {
  constexpr std::size_t kShortestAddress = 4;
  if (cell.kind == CellKind::value || cell.kind == CellKind::token) return true;
  if (cell.kind != CellKind::junk && cell.kind != CellKind::worded) return false;
  return cell.all.size() >= kShortestAddress &&
         cell.all.find_first_of(" \t") == std::string_view::npos;
}

/// A number in front of a column that other things follow, behind signs such as `[`.
struct Front {
  std::string_view before;
  std::string_view number;
};

std::optional<Front> front_of(std::string_view cell, char decimal) {
  std::size_t at = 0;
  while (at < cell.size() && !is_digit(cell[at]) && !is_letter(cell[at]) && cell[at] != '-') ++at;
  if (at > 2 || at == cell.size()) return std::nullopt;
  std::size_t size = cell[at] == '-' ? 1 : 0;
  const std::size_t first = at + size;
  while (at + size < cell.size() && (is_digit(cell[at + size]) || cell[at + size] == decimal))
    ++size;
  if (first == at + size) return std::nullopt;
  const std::string_view number = cell.substr(at, size);
  const std::string_view rest = cell.substr(at + size);
  constexpr std::string_view kMayFollow = "/#*]) %";
  const bool ends_well =
      rest.empty() || is_letter(rest[0]) || kMayFollow.find(rest[0]) != std::string_view::npos;
  if (!ends_well || !is_number(number, decimal)) return std::nullopt;
  return Front{cell.substr(0, at), number};
}

class Builder {
 public:
  explicit Builder(const TextLines& lines) : lines_{lines.lines} {
    made_.style = style_of(lines_);
    for (const TextLine& line : lines_) cells_.push_back(cells_of(line.text, made_.style));
  }

  std::optional<TextTable> build() {
    made_.is_worded = is_worded();
    if (made_.is_worded ? !find_words() : !find_columns()) return std::nullopt;
    fill();
    return std::move(made_);
  }

 private:
  bool is_worded() const {
    std::size_t named = 0;
    std::size_t plain = 0;
    for (const Cells& cells : cells_) {
      for (const TextCell& cell : cells) {
        if (cell.kind == CellKind::keyed ||
            (cell.kind == CellKind::worded && has_letter(cell.name)))
          ++named;
        if (cell.kind == CellKind::value || cell.kind == CellKind::token) ++plain;
      }
    }
    return named > plain;
  }

  // --- columns --------------------------------------------------------------------

  bool find_columns() {
    std::map<std::size_t, std::size_t> counts;
    for (const Cells& cells : cells_) {
      if (has_value(cells)) ++counts[cells.size()];
    }
    const auto usual =
        std::max_element(counts.begin(), counts.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; });
    if (usual == counts.end() || usual->second < 2) return false;
    width_ = usual->first;
    find_numbers(usual->second);
    for (std::size_t i = 0; i < cells_.size(); ++i) {
      const bool is_admitted =
          cells_[i].size() == width_ || is_usual_width(counts, cells_[i].size());
      if (is_admitted && is_report(cells_[i])) made_.report_lines.push_back(i);
    }
    if (made_.report_lines.size() < 2) return false;
    find_header();
    for (std::size_t column = 0; column < width_; ++column) add_column(column);
    name_by_words_before();
    return true;
  }

  static bool has_value(const Cells& cells) {
    return std::any_of(cells.begin(), cells.end(), [](const TextCell& cell) {
      return cell.kind == CellKind::value || cell.kind == CellKind::worded;
    });
  }

  /// Shorter lines count where they come often: their last columns may be left out.
  bool is_usual_width(const std::map<std::size_t, std::size_t>& counts, std::size_t width) const {
    constexpr std::size_t kHundredth = 100;
    constexpr std::size_t kOften = 3;  // one or two may be the rest of a torn line
    const auto known = counts.find(width);
    return width < width_ && 2 * width > width_ && known != counts.end() &&
           known->second >= kOften && known->second * kHundredth > cells_.size();
  }

  /// Columns in which numbers stand, or nothing.
  void find_numbers(std::size_t lines) {
    std::vector<std::size_t> numbers(width_);
    std::vector<std::size_t> missing(width_);
    for (const Cells& cells : cells_) {
      if (cells.size() != width_ || !has_value(cells)) continue;
      for (std::size_t i = 0; i < width_; ++i) {
        if (is_number(cells[i].all, made_.style.decimal)) ++numbers[i];
        if (is_missing(cells[i])) ++missing[i];
      }
    }
    for (std::size_t i = 0; i < width_; ++i) {
      number_columns_.push_back(10 * numbers[i] >= 9 * (lines - missing[i]) && numbers[i] > 0);
    }
  }

  bool is_report(const Cells& cells) const {
    bool has_number = false;
    for (std::size_t i = 0; i < std::min(width_, cells.size()); ++i) {
      if (!number_columns_[i] || is_missing(cells[i])) continue;
      if (!is_number(cells[i].all, made_.style.decimal)) return false;
      has_number = true;
    }
    const bool any_known =
        std::find(number_columns_.begin(), number_columns_.end(), true) != number_columns_.end();
    return any_known ? has_number : has_value(cells);
  }

  /// The first line of as many words as there are columns, where numbers stand below.
  void find_header() {
    for (const TextLine& line : lines_) {
      std::string_view text = line.text;
      while (text.starts_with('#') || text.starts_with(' ')) text.remove_prefix(1);
      for (const char separator : {made_.style.separator, ' '}) {
        const LineStyle style{separator, '\0', made_.style.decimal};
        const Cells names = cells_of(text, style);
        if (!is_header(names)) continue;
        if (made_.header.empty()) {
          made_.header = line.text;
          for (const TextCell& name : names) names_.emplace_back(name.all);
        }
        ++made_.headers;
        break;
      }
    }
  }

  bool is_header(const Cells& names) const {
    if (names.size() != width_) return false;
    std::size_t worded = 0;
    for (std::size_t i = 0; i < width_; ++i) {
      if (number_columns_[i] && is_number(names[i].all, made_.style.decimal)) return false;
      if (has_letter(names[i].all)) ++worded;
    }
    return 3 * worded >= 2 * width_;
  }

  void add_column(std::size_t column) {
    std::vector<std::string_view> texts;
    for (const std::size_t line : made_.report_lines) {
      if (column < cells_[line].size() && !is_missing(cells_[line][column]))
        texts.push_back(cells_[line][column].all);
    }
    Slot slot;
    if (column < names_.size()) slot.key = names_[column];
    TextTable::Finder finder{column, {}, CellKind::value, false};
    slot.place = fleet::AtColumn{static_cast<int>(column)};
    if (!number_columns_[column] && has_fronts(texts, finder, slot.unit)) {
      finder.is_front = true;
      slot.place =
          fleet::AfterText{finder.name, fleet::TextCoding::plain, static_cast<int>(column)};
    }
    slot.is_hex = !finder.is_front && is_hex(texts, slot.key);
    made_.table.slots.push_back(std::move(slot));
    made_.finders.push_back(std::move(finder));
  }

  /// True where nearly all begin with a number behind the same signs, and other things
  /// follow it: a unit, where it is the same everywhere.
  bool has_fronts(const std::vector<std::string_view>& texts, TextTable::Finder& finder,
                  std::string& unit) const {
    std::map<std::pair<std::string_view, std::string_view>, std::size_t> kinds;
    std::map<std::string_view, std::size_t> before;
    std::size_t with_letters = 0;
    std::size_t count = 0;
    for (const std::string_view text : texts) {
      const auto front = looks_like_time(text) ? std::nullopt : front_of(text, made_.style.decimal);
      if (!front) continue;
      ++count;
      ++before[front->before];
      const auto rest = text.substr(front->before.size() + front->number.size());
      if (!rest.empty() && is_letter(rest[0])) ++with_letters;
      ++kinds[{front->before, rest}];
    }
    if (count == 0 || 10 * count < 8 * texts.size() || before.size() != 1) return false;
    // Letters at once behind a number are its unit, or it is a word that begins with a digit.
    if (with_letters > 0 && (kinds.size() != 1 || with_letters < count)) return false;
    if (with_letters > 0 && has_digit(kinds.begin()->first.second)) return false;
    finder.name = std::string{before.begin()->first};
    if (kinds.size() == 1) unit = std::string{kinds.begin()->first.second};
    while (unit.starts_with(' ')) unit.erase(0, 1);
    return true;
  }

  static bool is_hex(const std::vector<std::string_view>& texts, const std::string& key) {
    const auto words = words_of(key);
    const bool is_called_so = std::find(words.begin(), words.end(), "hex") != words.end();
    constexpr std::size_t kMostDigits = 12;
    return !texts.empty() && std::all_of(texts.begin(), texts.end(), [&](std::string_view text) {
      const bool is_marked = text.starts_with("0x") || text.starts_with("0X");
      if (!is_marked && !is_called_so) return false;
      if (is_marked) text.remove_prefix(2);
      return !text.empty() && text.size() <= kMostDigits &&
             text.find_first_not_of("0123456789abcdefABCDEF") == std::string_view::npos;
    });
  }

  /// A column that always holds the same word names the one behind it.
  void name_by_words_before() {
    if (!names_.empty()) return;
    const Cells& first = cells_[made_.report_lines.front()];
    for (std::size_t i = 0; i + 1 < width_ && i < first.size(); ++i) {
      const std::string_view word = first[i].all;
      const bool is_same = std::all_of(
          made_.report_lines.begin(), made_.report_lines.end(),
          [&](std::size_t line) { return i < cells_[line].size() && cells_[line][i].all == word; });
      if (is_same && has_letter(word) && !is_digit(word[0]))
        made_.table.slots[i + 1].key = std::string{word};
    }
  }

  // --- words and keys -----------------------------------------------------------------

  struct Named {
    std::size_t lines = 0;
    std::size_t first_column = 0;  ///< summed up, for the order
    bool is_value = true;          ///< of keys: nothing but a value stands behind all of them
    std::map<std::string_view, std::size_t> units;
  };
  using NameOf = std::pair<CellKind, std::string>;

  bool find_words() {
    std::map<NameOf, Named> names;
    for (const Cells& cells : cells_) note_names(cells, names);
    constexpr std::size_t kFiftieth = 50;
    std::vector<std::pair<double, NameOf>> order;
    for (const auto& [name, named] : names) {
      constexpr std::size_t kLongestName = 200;  // a sheet can say little more
      if (name.second.size() > kLongestName) continue;
      if (named.lines < 2 || named.lines * kFiftieth < cells_.size()) continue;
      order.emplace_back(static_cast<double>(named.first_column) / static_cast<double>(named.lines),
                         name);
    }
    if (order.empty()) return false;
    std::sort(order.begin(), order.end());
    if (begin_with_times()) {
      add_line_time();
    } else {
      add_bare_columns();
    }
    for (const auto& [column, name] : order) add_named(name, names.at(name));
    find_reports();
    return made_.report_lines.size() >= 2;
  }

  static void note_names(const Cells& cells, std::map<NameOf, Named>& names) {
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const TextCell& cell = cells[i];
      if (!is_named(cell)) continue;
      Named& named = names[{cell.kind == CellKind::keyed ? CellKind::keyed : CellKind::worded,
                            std::string{cell.name}}];
      ++named.lines;
      named.first_column += i;
      if (cell.kind == CellKind::worded) ++named.units[cell.unit];
    }
  }

  /// Words before a number: what stands behind it may be anything.
  static bool is_named(const TextCell& cell) {
    if (cell.kind == CellKind::keyed) return true;
    return (cell.kind == CellKind::worded || cell.kind == CellKind::junk) &&
           has_letter(cell.name) && !cell.value.empty();
  }

  /// True where nearly all lines begin with a time that has a zone.
  bool begin_with_times() const {
    const auto times = std::count_if(lines_.begin(), lines_.end(), [](const TextLine& line) {
      return parse_rfc3339(first_word(line.text)).has_value();
    });
    return 100 * static_cast<std::size_t>(times) >= 97 * lines_.size();
  }

  void add_line_time() {
    Slot slot;
    slot.key = "time";
    slot.place = fleet::AfterText{{}, fleet::TextCoding::plain, 0};
    if (made_.style.separator == ' ') slot.place = fleet::AtColumn{0};
    made_.table.slots.push_back(std::move(slot));
    made_.finders.push_back({0, {}, CellKind::value, true});
  }

  /// Columns in front of the first name, where nearly all lines have something that
  /// no word goes with: who sent it, most often.
  void add_bare_columns() {
    constexpr std::size_t kMost = 4;
    for (std::size_t column = 0; column < kMost; ++column) {
      const auto bare = std::count_if(cells_.begin(), cells_.end(), [&](const Cells& cells) {
        return column < cells.size() && is_bare(cells[column]);
      });
      if (10 * static_cast<std::size_t>(bare) < 8 * cells_.size()) continue;
      Slot slot;
      slot.place = fleet::AtColumn{static_cast<int>(column)};
      made_.table.slots.push_back(std::move(slot));
      made_.finders.push_back({column, {}, CellKind::token, false});
    }
  }

  void add_named(const NameOf& name, const Named& named) {
    Slot slot;
    slot.key = name.second;
    const auto unit =
        std::max_element(named.units.begin(), named.units.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; });
    if (unit != named.units.end() && 2 * unit->second > named.lines)
      slot.unit = std::string{unit->first};
    const bool is_key = name.first == CellKind::keyed;
    slot.place = is_key ? fleet::FieldPlace{fleet::AtKey{name.second}}
                        : fleet::FieldPlace{fleet::AfterText{text_before(name.second)}};
    made_.table.slots.push_back(std::move(slot));
    made_.finders.push_back({0, name.second, name.first, false});
  }

  /// The name, or more of the line before it where the name alone stands elsewhere, too.
  std::string text_before(const std::string& name) const {
    const std::string longer = made_.style.separator + std::string{" "} + name;
    for (const std::string& text : {name, longer, made_.style.separator + name}) {
      if (finds_only_its_own(text, name)) return text;
    }
    return name;
  }

  bool finds_only_its_own(const std::string& text, const std::string& name) const {
    constexpr std::size_t kLooked = 400;
    for (std::size_t i = 0; i < std::min(kLooked, lines_.size()); ++i) {
      const std::string_view line = lines_[i].text;
      const std::size_t found = line.find(text);
      for (const TextCell& cell : cells_[i]) {
        if (!is_named(cell) || cell.kind == CellKind::keyed || cell.name != name) continue;
        const auto at = static_cast<std::size_t>(cell.name.data() - line.data());
        if (found == std::string_view::npos || found + text.size() != at + name.size())
          return false;
      }
    }
    return true;
  }

  /// Lines that have all that nearly every line has.
  void find_reports() {
    const std::size_t slots = made_.finders.size();
    std::vector<std::vector<bool>> has;
    std::vector<std::size_t> counts(slots);
    std::size_t with_some = 0;
    for (const TextLine& line : lines_) {
      const auto values = made_.values_in(line.text);
      std::vector<bool> there;
      there.reserve(values.size());
      for (const auto& value : values) there.push_back(!value.empty());
      const auto some = static_cast<std::size_t>(std::count(there.begin(), there.end(), true));
      const bool counted = 2 * some >= std::min<std::size_t>(slots, 4);
      if (counted) ++with_some;
      for (std::size_t i = 0; counted && i < slots; ++i) counts[i] += there[i] ? 1 : 0;
      has.push_back(std::move(there));
    }
    for (std::size_t line = 0; line < lines_.size(); ++line) {
      bool is_whole = false;
      for (std::size_t i = 0; i < slots; ++i) {
        const bool is_usual = 100 * counts[i] >= 97 * with_some;
        if (is_usual && !has[line][i]) {
          is_whole = false;
          break;
        }
        is_whole = is_whole || has[line][i];
      }
      if (is_whole) made_.report_lines.push_back(line);
    }
  }

  // --- both -----------------------------------------------------------------------

  void fill() {
    SlotTable& table = made_.table;
    bool broken = false;
    std::size_t next = 0;
    for (std::size_t line = 0; line < lines_.size(); ++line) {
      broken = broken || lines_[line].after_break;
      if (next == made_.report_lines.size() || made_.report_lines[next] != line) continue;
      ++next;
      table.at.push_back(lines_[line].at);
      table.breaks.push_back(broken ? 1 : 0);
      broken = false;
      const auto values = made_.values_in(lines_[line].text);
      for (std::size_t i = 0; i < values.size(); ++i) {
        auto& cell = table.slots[i].cells.emplace_back();
        if (!values[i].empty()) cell = read(table.slots[i], values[i]);
      }
    }
    if (made_.is_worded) mark_hex();
    for (const TextLine& line : lines_) made_.comments += line.text.starts_with('#') ? 1 : 0;
    const std::size_t comments_named = made_.header.starts_with('#') ? made_.headers : 0;
    made_.comments -= std::min(made_.comments, comments_named);
    const std::size_t told = made_.report_lines.size() + made_.headers + made_.comments;
    made_.unlike = lines_.size() - std::min(lines_.size(), told);
  }

  Cell read(const Slot& slot, std::string_view text) const {
    if (slot.is_hex && !text.starts_with("0x") && !text.starts_with("0X")) {
      Cell cell = cell_of("0x" + std::string{text}, made_.style.decimal);
      cell.text = std::string{text};
      return cell;
    }
    return cell_of(text, made_.style.decimal);
  }

  void mark_hex() {
    for (Slot& slot : made_.table.slots) {
      bool any = false;
      bool all = true;
      for (const auto& cell : slot.cells) {
        if (!cell) continue;
        any = true;
        all = all && cell->text.starts_with("0x") && cell->number;
      }
      slot.is_hex = any && all;
    }
  }

  const std::vector<TextLine>& lines_;
  std::vector<Cells> cells_;
  std::size_t width_ = 0;
  std::vector<bool> number_columns_;
  std::vector<std::string> names_;
  TextTable made_;
};

}  // namespace

std::vector<std::string_view> TextTable::values_in(std::string_view line) const {
  const std::vector<TextCell> cells = cells_of(line, style);
  std::vector<std::string_view> values(finders.size());
  for (std::size_t i = 0; i < finders.size(); ++i) {
    const Finder& finder = finders[i];
    if (!is_worded) {
      if (finder.column >= cells.size() || is_missing(cells[finder.column])) continue;
      const std::string_view all = cells[finder.column].all;
      const auto front = finder.is_front ? front_of(all, style.decimal) : std::nullopt;
      values[i] = !finder.is_front ? all : front ? front->number : std::string_view{};
      continue;
    }
    if (finder.is_front) {
      values[i] = first_word(line);
      continue;
    }
    if (finder.kind == CellKind::token) {
      const bool is_there = finder.column < cells.size() && is_bare(cells[finder.column]);
      if (is_there) values[i] = cells[finder.column].all;
      continue;
    }
    for (const TextCell& cell : cells) {
      const bool is_key = cell.kind == CellKind::keyed;
      if (is_key != (finder.kind == CellKind::keyed) || cell.name != finder.name) continue;
      if (!is_missing(TextCell{CellKind::value, cell.value, {}, {}, {}})) values[i] = cell.value;
      break;
    }
  }
  return values;
}

std::optional<TextTable> text_table(const TextLines& lines) { return Builder{lines}.build(); }

}  // namespace fieldfare::learn
