// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/csv_rows.h"

#include <fmt/format.h>
#include <simdjson.h>

#include <algorithm>
#include <span>

#include "fieldfare/wire/excerpt.h"
#include "fieldfare/wire/internal/columns.h"

namespace fieldfare::wire {
namespace {

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlanks = " \t";
  const std::size_t first = text.find_first_not_of(kBlanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
}

bool has_blank_edge(std::string_view text) {
  const auto blank = [](char c) { return c == ' ' || c == '\t'; };
  return !text.empty() && (blank(text.front()) || blank(text.back()));
}

/// What no row may hold, whatever its cells.
Fault unfit_bytes(std::string_view row) {
  const std::size_t zero = row.find('\0');
  if (zero != std::string_view::npos) return {Trouble::zero_byte, row, zero, {}, {}};
  if (simdjson::validate_utf8(row.data(), row.size())) return {};
  return {Trouble::not_utf8, row, well_formed_size(row), {}, {}};
}

/// Whether a fault in a row of several lines is one that a stray quote makes by
/// swallowing the ends of rows.
bool is_made_by_quote(const Fault& fault) {
  const bool unfit = fault.trouble == Trouble::zero_byte || fault.trouble == Trouble::not_utf8;
  return unfit || fault.trouble == Trouble::cell_count ||
         fault.value.find('\n') != std::string_view::npos;
}

}  // namespace

CsvRows::CsvRows(fleet::Labels& labels, RowLog& log)
    : RowReader{log}, labels_{labels}, builder_{labels, NumberGrammar::decimal, log.receiver()} {}

std::size_t CsvRows::take_row(const Line& line, std::string_view window, bool last,
                              const HearingSink& sink) {
  if (is_blank(line.text) || is_header(line.text)) {
    log().next_lines(1);
    return line.size;
  }
  if (header_.empty()) return take_header(line);
  const std::optional<std::size_t> count = split_plain(line.text, cells_);
  if (!count) return take_careful(line, window, last, sink);
  if (*count != columns_.size()) {
    return give_up_line(line, {Trouble::cell_count, line.text, Fault::kWholeRow, {}, {}});
  }
  const Fault fault = build(line.text, cells_);
  if (fault.trouble != Trouble::none) return give_up_line(line, fault);
  log().accept();
  sink(builder_.hearing());
  log().next_lines(1);
  return line.size;
}

/// A row that is not plain: quotes, other letters than ASCII, or damage.
std::size_t CsvRows::take_careful(const Line& line, std::string_view window, bool last,
                                  const HearingSink& sink) {
  Fault fault = unfit_bytes(line.text);
  if (fault.trouble != Trouble::none) return give_up_line(line, fault);

  const bool bounded = window.size() > kLongestRow;
  split_row(window.substr(0, kLongestRow + 1), last && !bounded, split_);
  if (split_.state == Split::State::open && !bounded && !last) return 0;
  if (split_.state != Split::State::complete) {
    const bool open = split_.state == Split::State::open;
    return give_up_line(
        line, {open ? Trouble::open_quote : split_.trouble, line.text, split_.offset, {}, {}});
  }

  const std::string_view row = window.substr(0, split_.text_size);
  const bool several_lines = split_.size > line.size;
  if (several_lines) fault = unfit_bytes(row);
  if (fault.trouble == Trouble::none && split_.cells.size() != columns_.size()) {
    fault = {Trouble::cell_count, row, Fault::kWholeRow, {}, {}};
  }
  if (fault.trouble == Trouble::none) fault = build(row, split_.cells);
  if (several_lines && is_made_by_quote(fault)) {
    return give_up_line(line, {Trouble::open_quote, line.text, Fault::kWholeRow, {}, {}});
  }
  if (fault.trouble == Trouble::none) {
    log().accept();
    sink(builder_.hearing());
  } else {
    log().skip(fault);
  }
  const std::string_view bytes = window.substr(0, split_.size);
  const auto ends = std::count(bytes.begin(), bytes.end(), '\n');
  log().next_lines(static_cast<std::size_t>(ends));
  return split_.size;
}

std::size_t CsvRows::give_up_line(const Line& line, const Fault& fault) {
  log().skip(fault);
  log().next_lines(1);
  return line.size;
}

Fault CsvRows::build(std::string_view row, std::span<const Cell> cells) {
  builder_.begin();
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    std::string_view text = cells[i].text;
    if (has_blank_edge(text)) text = trimmed(text);
    if (text.empty()) continue;
    const Trouble trouble = builder_.set(columns_[i], text);
    if (trouble != Trouble::none) return blame(trouble, row, cells, i);
  }
  const Trouble trouble = builder_.finish();
  if (trouble == Trouble::none) return {};
  if (builder_.blamed() == nullptr) return {trouble, row, Fault::kWholeRow, {}, {}};
  return blame(trouble, row, cells, static_cast<std::size_t>(builder_.blamed() - columns_.data()));
}

Fault CsvRows::blame(Trouble trouble, std::string_view row, std::span<const Cell> cells,
                     std::size_t column) const {
  return {trouble, row, cells[column].offset, columns_[column].name, cells[column].text};
}

bool CsvRows::is_header(std::string_view line) const {
  if (header_.empty()) return false;
  if (line.size() > header_.size() && line.starts_with(kByteOrderMark)) {
    line.remove_prefix(kByteOrderMark.size());
  }
  return line == header_;
}

std::size_t CsvRows::take_header(const Line& line) {
  const Fault unfit = unfit_bytes(line.text);
  if (unfit.trouble != Trouble::none) {
    log().give_up(unfit.offset + 1, "the first line is not text",
                  "a header row in UTF-8, or JSON Lines");
    return 0;
  }
  split_row(line.text, true, split_);
  if (split_.state != Split::State::complete) {
    log().give_up(split_.offset + 1, "the header row cannot be read: a quote is out of place",
                  "column names separated by commas, such as time,node,seq");
    return 0;
  }
  name_columns(line.text);
  log().next_lines(1);
  return line.size;
}

void CsvRows::name_columns(std::string_view row) {
  header_ = row;
  if (split_.cells.size() > kMostColumns) {
    log().give_up(0, fmt::format("the header names {} columns", split_.cells.size()),
                  fmt::format("at most {}", kMostColumns));
    return;
  }
  for (const Cell& cell : split_.cells) {
    const std::string_view name = trimmed(cell.text);
    const bool taken = std::any_of(columns_.begin(), columns_.end(), [&](const Column& column) {
      return !name.empty() && column.name == name;
    });
    if (taken) {
      log().give_up(cell.offset + 1, fmt::format("the column `{}` stands twice", excerpt(name)),
                    "each column once");
      return;
    }
    columns_.push_back(name.empty() ? Column{} : make_column(name, labels_, log()));
  }
  cells_.resize(columns_.size());
  require("time");
  require("node");
}

void CsvRows::require(std::string_view name) {
  const auto named = [&](const Column& column) { return column.name == name; };
  if (log().fatal() || std::any_of(columns_.begin(), columns_.end(), named)) return;
  const auto near = std::find_if(columns_.begin(), columns_.end(), [&](const Column& column) {
    return nearest_column(column.name) == name;
  });
  log().give_up(0, fmt::format("there is no column `{}`", name),
                near == columns_.end()
                    ? "a header row that names at least `time` and `node`, or JSON Lines"
                    : fmt::format("`{}` where `{}` stands", name, excerpt(near->name)));
}

}  // namespace fieldfare::wire
