// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/cells.h"

#include <cstdint>

#include "fieldfare/wire/internal/swar.h"

namespace fieldfare::wire {
namespace {

/// Whether any octet is a quote, a control character or no ASCII.
bool any_special(std::uint64_t word) {
  return (octets_equal(word, '"') | octets_below_blank(word) | (word & kOctetTops)) != 0;
}

bool is_special(char c) {
  const unsigned char byte = static_cast<unsigned char>(c);
  return byte < 0x20 || byte >= 0x80 || c == '"';
}

/// Where split_plain() puts the cells it finds.
class CellWriter {
 public:
  CellWriter(std::string_view line, std::span<Cell> cells) : line_{line}, cells_{cells} {}

  void end_cell(std::size_t end) {
    if (count_ < cells_.size()) cells_[count_] = {line_.substr(start_, end - start_), start_};
    ++count_;
    start_ = end + 1;
  }
  std::size_t count() const { return count_; }

 private:
  std::string_view line_;
  std::span<Cell> cells_;
  std::size_t start_ = 0;
  std::size_t count_ = 0;
};

/// Reads one row by hand, cell by cell; see split_row().
class RowSplitter {
 public:
  RowSplitter(std::string_view window, bool last, Split& split)
      : window_{window}, last_{last}, split_{split} {}

  void run() {
    while (take_cell()) {
    }
  }

 private:
  bool take_cell() {
    start_ = at_;
    return at_ < window_.size() && window_[at_] == '"' ? take_quoted() : take_unquoted();
  }

  bool take_unquoted() {
    const std::size_t end = window_.find_first_of(",\"\n", at_);
    if (end != std::string_view::npos && window_[end] == '"') {
      return stop(Trouble::stray_quote, end);
    }
    if (end == std::string_view::npos && !last_) return stay_open(start_);
    at_ = end == std::string_view::npos ? window_.size() : end;
    std::string_view text = window_.substr(start_, at_ - start_);
    const bool line_ends = at_ == window_.size() || window_[at_] == '\n';
    if (line_ends && text.ends_with('\r')) text.remove_suffix(1);
    split_.text_size = start_ + text.size();
    return end_cell(text);
  }

  bool take_quoted() {
    const std::size_t first = at_ + 1;
    bool doubled = false;
    std::size_t quote = window_.find('"', first);
    while (quote != std::string_view::npos && quote + 1 < window_.size() &&
           window_[quote + 1] == '"') {
      doubled = true;
      quote = window_.find('"', quote + 2);
    }
    if (quote == std::string_view::npos) return stay_open(start_);
    at_ = quote + 1;
    split_.text_size = at_;
    const std::string_view text = window_.substr(first, quote - first);
    const std::string_view rest = window_.substr(at_);
    if (rest.starts_with('\r') && (rest.starts_with("\r\n") || (last_ && rest.size() == 1))) {
      ++at_;
    } else if ((rest.empty() || rest == "\r") && !last_) {
      return stay_open(start_);
    } else if (!rest.empty() && rest[0] != ',' && rest[0] != '\n') {
      const bool several_lines = text.find('\n') != std::string_view::npos;
      return several_lines ? stop(Trouble::open_quote, start_) : stop(Trouble::stray_quote, quote);
    }
    return end_cell(doubled ? without_doubling(text) : text);
  }

  /// `at_` stands at a comma, a line feed or the end.
  bool end_cell(std::string_view text) {
    split_.cells.push_back({text, start_});
    const bool more = at_ < window_.size() && window_[at_] == ',';
    if (at_ < window_.size()) ++at_;
    if (!more) split_.size = at_;
    return more;
  }

  std::string_view without_doubling(std::string_view text) {
    // Room for the whole row at once, so that earlier views stay valid.
    if (split_.unquoted.capacity() < window_.size()) split_.unquoted.reserve(window_.size());
    const std::size_t first = split_.unquoted.size();
    for (std::size_t i = 0; i < text.size(); ++i) {
      split_.unquoted += text[i];
      if (text[i] == '"') ++i;
    }
    return std::string_view{split_.unquoted}.substr(first);
  }

  bool stay_open(std::size_t offset) {
    split_.state = Split::State::open;
    split_.offset = offset;
    return false;
  }
  bool stop(Trouble trouble, std::size_t offset) {
    split_.state = Split::State::malformed;
    split_.trouble = trouble;
    split_.offset = offset;
    return false;
  }

  std::string_view window_;
  bool last_;
  Split& split_;
  std::size_t at_ = 0;
  std::size_t start_ = 0;
};

}  // namespace

std::optional<std::size_t> split_plain(std::string_view line, std::span<Cell> cells) {
  CellWriter writer{line, cells};
  std::size_t at = 0;
  for (; line.size() - at >= kOctets; at += kOctets) {
    const std::uint64_t word = load_octets(line.data() + at);
    if (any_special(word)) return std::nullopt;
    for (std::uint64_t commas = octets_equal(word, ','); commas != 0; commas &= commas - 1) {
      writer.end_cell(at + first_octet(commas));
    }
  }
  for (; at < line.size(); ++at) {
    if (is_special(line[at])) return std::nullopt;
    if (line[at] == ',') writer.end_cell(at);
  }
  writer.end_cell(line.size());
  return writer.count();
}

void split_row(std::string_view window, bool last, Split& split) {
  split.state = Split::State::complete;
  split.size = split.text_size = split.offset = 0;
  split.trouble = Trouble::none;
  split.cells.clear();
  split.unquoted.clear();
  RowSplitter{window, last, split}.run();
}

}  // namespace fieldfare::wire
