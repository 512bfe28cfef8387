// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/text_check.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <string_view>

#include "fieldfare/learn/internal/check_values.h"
#include "fieldfare/learn/internal/odds.h"
#include "fieldfare/wire/check.h"

namespace fieldfare::learn {
namespace {

/// Lines that a search looks at; the rest are only counted.
constexpr std::size_t kMostLooked = 60;

std::span<const std::uint8_t> octets_of(const std::string& text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

bool is_hex(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}

/// The number that so many digits at the end of the line are; nothing where they are none.
std::optional<std::uint32_t> digits_at_end(std::string_view line, std::size_t digits) {
  if (line.size() <= digits + 1) return std::nullopt;
  std::uint32_t number = 0;
  for (const char c : line.substr(line.size() - digits)) {
    if (!is_hex(c)) return std::nullopt;
    const int digit = c <= '9' ? c - '0' : (c | 0x20) - 'a' + 10;
    number = number * 16 + static_cast<std::uint32_t>(digit);
  }
  return number;
}

std::uint32_t turned(std::uint32_t number, int octets) {
  std::uint32_t out = 0;
  for (int i = 0; i < octets; ++i) {
    out = out << 8U | (number & 0xFFU);
    number >>= 8U;
  }
  return out;
}

/// One way in which a maker's value can stand in a line.
struct Way {
  int from = 0;
  int sign = 0;  ///< characters between what is checked and the check
  fleet::ByteOrder order = fleet::ByteOrder::big;
};

std::vector<Way> ways_of(const CheckMaker& maker) {
  std::vector<Way> ways;
  for (const int from : {0, 1}) {
    for (const int sign : {0, 1}) {
      ways.push_back({from, sign, fleet::ByteOrder::big});
      if (maker.octets > 1) ways.push_back({from, sign, fleet::ByteOrder::little});
    }
  }
  return ways;
}

fleet::CheckFacts facts_of(const CheckMaker& maker, const Way& way) {
  fleet::CheckFacts facts;
  facts.kind = maker.kind;
  if (maker.model != nullptr) facts.crc = maker.model->name;
  facts.octets = maker.octets;
  facts.complement = maker.complement;
  facts.order = way.order;
  facts.as_hex_digits = true;
  facts.at = -2 * maker.octets;
  facts.from = way.from;
  facts.to = way.sign == 0 ? 0 : facts.at - way.sign;
  return facts;
}

/// Different values of the check with which one way holds, each counted once.
class Tally {
 public:
  Tally(const CheckMaker& maker, const std::vector<const std::string*>& lines)
      : maker_{maker}, ways_{ways_of(maker)}, values_(ways_.size()) {
    for (const std::string* line : lines) take(*line);
  }

  std::size_t of() const { return all_.size(); }
  const std::vector<Way>& ways() const { return ways_; }
  std::size_t held(std::size_t way) const { return values_[way].size(); }

 private:
  void take(const std::string& line) {
    const std::size_t digits = 2 * static_cast<std::size_t>(maker_.octets);
    const auto sent = digits_at_end(line, digits);
    if (!sent) return;
    all_.insert(*sent);
    for (const int from : {0, 1}) {
      running_checks(maker_, octets_of(line).subspan(static_cast<std::size_t>(from)), running_);
      for (std::size_t i = 0; i < ways_.size(); ++i) {
        if (ways_[i].from != from) continue;
        const std::size_t end =
            line.size() - digits - static_cast<std::size_t>(ways_[i].sign + from);
        const std::uint32_t value = running_[end];
        const bool is_big = ways_[i].order == fleet::ByteOrder::big;
        if ((is_big ? value : turned(value, maker_.octets)) == *sent) values_[i].insert(*sent);
      }
    }
  }

  const CheckMaker& maker_;
  std::vector<Way> ways_;
  std::vector<std::set<std::uint32_t>> values_;
  std::set<std::uint32_t> all_;
  std::vector<std::uint32_t> running_;
};

}  // namespace

std::optional<TextCheck> search_text_check(const TextLines& lines) {
  std::vector<const std::string*> looked;
  const std::size_t apart = 1 + lines.lines.size() / kMostLooked;
  for (std::size_t i = 0; i < lines.lines.size(); i += apart) {
    looked.push_back(&lines.lines[i].text);
  }
  const std::vector<CheckMaker> makers = all_check_makers();
  constexpr double kMostWays = 8;
  const double tried = std::log2(kMostWays * static_cast<double>(makers.size()));
  TextCheck best;
  for (const CheckMaker& maker : makers) {
    const Tally tally{maker, looked};
    for (std::size_t i = 0; i < tally.ways().size(); ++i) {
      if (2 * tally.held(i) < tally.of() || tally.held(i) < 3) continue;
      const double bits =
          bits_against_chance(tally.held(i), tally.of(), 8.0 * maker.octets) - tried;
      if (bits <= best.bits) continue;
      best.bits = bits;
      best.facts = facts_of(maker, tally.ways()[i]);
    }
  }
  if (sureness_of(best.bits) > Sureness::likely) return std::nullopt;
  const wire::FrameCheck check{best.facts};
  for (const TextLine& line : lines.lines) {
    best.held.push_back(check.holds(octets_of(line.text)));
    if (best.held.back()) ++best.count;
  }
  return best;
}

}  // namespace fieldfare::learn
