// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/text_lines.h"

#include <algorithm>

#include "fieldfare/base/utf8.h"

namespace fieldfare::learn {
namespace {

/// Lines that are looked at: the first of them in a row, the others in stretches.
constexpr std::size_t kMostLines = 8000;
constexpr std::size_t kInARow = 4000;
constexpr std::size_t kStretch = 500;
constexpr std::size_t kLongestLine = 16384;

bool is_text(std::string_view line) {
  if (line.size() > kLongestLine || well_formed_size(line) < line.size()) return false;
  return std::none_of(line.begin(), line.end(), [](char c) {
    return (static_cast<unsigned char>(c) < ' ' && c != '\t') || c == '\x7F';
  });
}

class Gatherer {
 public:
  void add(std::string_view line, std::optional<Instant> at, std::size_t taken) {
    if (line.ends_with('\r')) line.remove_suffix(1);
    const bool is_blank = line.find_first_not_of(" \t") == std::string_view::npos;
    if (!is_text(line)) {
      bad_octets_ += taken;
      return;
    }
    ++found_.all;
    good_octets_ += taken;
    if (is_blank) return;
    found_.longest = std::max(found_.longest, line.size());
    found_.lines.push_back({std::string{line}, at, false});
    sizes_.push_back(taken);
  }

  std::optional<TextLines> finish(std::size_t octets) {
    constexpr std::size_t kThird = 3;
    if (found_.lines.empty() || kThird * bad_octets_ > good_octets_ + bad_octets_)
      return std::nullopt;
    found_.octets = octets;
    thin_out();
    return std::move(found_);
  }
  TextLines& found() { return found_; }

 private:
  /// Keeps the first lines, and stretches that are spread over the others.
  void thin_out() {
    std::vector<TextLine> kept;
    const std::size_t count = found_.lines.size();
    const bool all = count <= kMostLines;
    const std::size_t stretches = (kMostLines - kInARow) / kStretch;
    const std::size_t apart = all ? 0 : (count - kInARow) / stretches;
    for (std::size_t i = 0; i < count; ++i) {
      const bool in_stretch = i < kInARow || all || (i - kInARow) % apart < kStretch;
      if (!in_stretch) continue;
      const bool begins = !all && i >= kInARow && (i - kInARow) % apart == 0;
      found_.line_octets += sizes_[i];
      kept.push_back(std::move(found_.lines[i]));
      kept.back().after_break = begins;
    }
    found_.octets = all ? found_.octets : found_.line_octets;
    found_.lines = std::move(kept);
  }

  TextLines found_;
  std::vector<std::size_t> sizes_;
  std::size_t good_octets_ = 0;
  std::size_t bad_octets_ = 0;
};

std::string_view text_of(const fleet::Octets& octets) {
  return {reinterpret_cast<const char*>(octets.data()), octets.size()};
}

}  // namespace

std::optional<TextLines> text_lines(const Sample& sample) {
  Gatherer gatherer;
  std::string pending;
  std::size_t octets = 0;
  std::size_t messages = 0;
  std::size_t lone = 0;
  for (const Arrival& arrival : sample.arrivals) {
    octets += arrival.octets.size();
    std::string_view rest = text_of(arrival.octets);
    if (arrival.whole) {
      ++messages;
      if (rest.find('\n') == std::string_view::npos) ++lone;
    }
    for (std::size_t end = rest.find('\n'); end != std::string_view::npos; end = rest.find('\n')) {
      pending += rest.substr(0, end);
      gatherer.add(pending, arrival.at, pending.size() + 1);
      pending.clear();
      rest.remove_prefix(end + 1);
    }
    pending += rest;
    if (arrival.whole && !pending.empty()) {
      gatherer.add(pending, arrival.at, pending.size());
      pending.clear();
    }
  }
  if (!pending.empty()) gatherer.add(pending, std::nullopt, pending.size());
  gatherer.found().are_messages =
      messages > 0 && lone == messages && messages == sample.arrivals.size();
  return gatherer.finish(octets);
}

}  // namespace fieldfare::learn
