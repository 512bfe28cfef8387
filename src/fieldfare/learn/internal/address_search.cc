// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/address_search.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "fieldfare/base/address.h"
#include "fieldfare/learn/internal/counter_search.h"

namespace fieldfare::learn {
namespace {

using fleet::ByteOrder;
using fleet::Octets;

constexpr std::size_t kWidest = 8;
constexpr std::size_t kMostNodes = 256;

bool is_free(std::span<const Taken> taken, std::size_t place) {
  return std::none_of(taken.begin(), taken.end(),
                      [&](const Taken& other) { return place >= other.from && place < other.to; });
}

bool is_free(std::span<const Taken> taken, std::size_t from, std::size_t to) {
  for (std::size_t place = from; place < to; ++place) {
    if (!is_free(taken, place)) return false;
  }
  return true;
}

/// What labels may look like in a frame: their last whole octets, high one first.
struct Reading {
  std::size_t octets = 0;
  bool decimal = false;
  std::set<std::uint64_t> values;
};

std::optional<std::uint64_t> number_of(std::string_view digits, unsigned base) {
  std::uint64_t out = 0;
  if (digits.empty() || digits.size() > 16) return std::nullopt;
  for (const char sign : digits) {
    const unsigned digit = sign >= '0' && sign <= '9'   ? static_cast<unsigned>(sign - '0')
                           : sign >= 'A' && sign <= 'F' ? static_cast<unsigned>(sign - 'A' + 10)
                           : sign >= 'a' && sign <= 'f' ? static_cast<unsigned>(sign - 'a' + 10)
                                                        : 16U;
    if (digit >= base) return std::nullopt;
    out = out * base + digit;
  }
  return out;
}

std::vector<Reading> readings_of(std::span<const std::string> labels) {
  std::map<std::size_t, Reading> hex;
  Reading small{1, false, {}};
  Reading decimal_small{1, true, {}};
  Reading decimal{2, true, {}};
  for (const std::string& label : labels) {
    const auto value = number_of(label, 16);
    const std::size_t octets = label.size() / 2;
    if (value && octets >= 2) {
      const std::uint64_t mask =
          octets >= 8 ? ~std::uint64_t{0} : (std::uint64_t{1} << 8 * octets) - 1;
      Reading& reading = hex.try_emplace(octets, Reading{octets, false, {}}).first->second;
      reading.values.insert(*value & mask);
    }
    if (value && *value < 0x100 && label.size() <= 4) small.values.insert(*value);
    if (const auto number = number_of(label, 10)) {
      if (*number < 0x100) decimal_small.values.insert(*number);
      if (*number < 0x1'0000) decimal.values.insert(*number);
    }
  }
  std::vector<Reading> out;
  out.reserve(hex.size() + 3);
  for (auto& [octets, reading] : hex) out.push_back(std::move(reading));
  for (Reading* const reading : {&small, &decimal_small, &decimal}) {
    if (!reading->values.empty()) out.push_back(std::move(*reading));
  }
  return out;
}

std::uint64_t value_at(const Octets& octets, std::size_t from, std::size_t width, ByteOrder order) {
  std::uint64_t out = 0;
  for (std::size_t i = 0; i < width; ++i) {
    out = out << 8 | octets[from + (order == ByteOrder::big ? i : width - 1 - i)];
  }
  return out;
}

AddressGuess judge(const AddressQuestion& question, const Reading& reading, std::size_t from,
                   ByteOrder order) {
  AddressGuess out;
  out.from = from;
  out.octets = out.digits = reading.octets;
  out.order = order;
  out.in_decimal = reading.decimal;
  std::set<std::uint64_t> found;
  for (const Octets* const frame : question.frames) {
    const std::uint64_t value = value_at(*frame, from, reading.octets, order);
    if (!reading.values.contains(value)) continue;
    ++out.matched;
    found.insert(value);
  }
  out.labels = found.size();
  const double each = 8.0 * static_cast<double>(reading.octets) -
                      std::log2(static_cast<double>(reading.values.size()));
  // Each label that is found counts once: frames of one node are alike.
  const double tried =
      std::log2(static_cast<double>(8 * std::max<std::size_t>(1, question.length)));
  out.bits = std::max(0.0, static_cast<double>(out.labels) * each - tried);
  return out;
}

/// What an octet is, over the nodes.
enum class Column : std::uint8_t { constant, of_node, varying };

class Nodes {
 public:
  Nodes(const AddressQuestion& question, const AddressGuess& guess) {
    for (const Octets* const frame : question.frames) {
      by_value_[value_at(*frame, guess.from, guess.octets, guess.order)].push_back(frame);
    }
    least_same_ = question.damage ? 0.7 : 0.98;
  }

  Column column(std::size_t place) const {
    std::size_t same = 0;
    std::size_t all = 0;
    std::set<std::uint8_t> usual;
    for (const auto& [value, frames] : by_value_) {
      if (frames.size() < 2) continue;
      std::array<std::size_t, 256> counts{};
      for (const Octets* const frame : frames) ++counts[(*frame)[place]];
      const auto most = std::max_element(counts.begin(), counts.end());
      same += *most;
      all += frames.size();
      usual.insert(static_cast<std::uint8_t>(most - counts.begin()));
    }
    if (all == 0 || static_cast<double>(same) < least_same_ * static_cast<double>(all)) {
      return Column::varying;
    }
    return usual.size() == 1 ? Column::constant : Column::of_node;
  }

  std::uint8_t example(std::size_t place) const {
    const auto most = std::max_element(
        by_value_.begin(), by_value_.end(),
        [](const auto& a, const auto& b) { return a.second.size() < b.second.size(); });
    return (*most->second.front())[place];
  }

 private:
  std::map<std::uint64_t, std::vector<const Octets*>> by_value_;
  double least_same_ = 1;
};

/// How well octets up to a width look like an address, in bits of common practice.
double looks(const Nodes& nodes, const AddressGuess& guess, const std::vector<Column>& columns) {
  const bool is_big = guess.order == ByteOrder::big;
  const std::size_t highest = is_big ? guess.from : guess.from + guess.octets - 1;
  const std::uint8_t top = nodes.example(highest);
  double bits = 0;
  // EUI-48 and EUI-64: no address of a node is a group's; locally given ones have 02 set.
  if (guess.octets >= 4) bits += (top & 3) == 2 ? 3 : (top & 1) != 0 ? -3 : -1;
  if (top == 0) bits -= 3;
  if (guess.octets < columns.size() && columns[guess.octets] == Column::of_node) bits -= 6;
  return bits;
}

AddressGuess extended(const AddressQuestion& question, const AddressGuess& found) {
  const Nodes nodes{question, found};
  const bool is_big = found.order == ByteOrder::big;
  std::vector<Column> columns(found.octets, Column::of_node);
  while (columns.size() < kWidest) {
    const std::size_t step = columns.size() - found.octets + 1;
    if (is_big && step > found.from) break;
    const std::size_t place = is_big ? found.from - step : found.from + found.octets - 1 + step;
    if (place >= question.length || !is_free(question.taken, place)) break;
    const Column column = nodes.column(place);
    if (column == Column::varying) break;
    columns.push_back(column);
  }
  AddressGuess best = found;
  double best_looks = -1e9;
  std::size_t possible = 0;
  for (const std::size_t width : {std::size_t{2}, std::size_t{4}, std::size_t{6}, std::size_t{8}}) {
    if (width < found.octets || width > columns.size()) continue;
    AddressGuess guess = found;
    guess.octets = width;
    if (is_big) guess.from = found.from - (width - found.octets);
    const double bits = looks(nodes, guess, columns);
    ++possible;
    // Octets that never change are rather the address's than of no use.
    if (bits >= best_looks) {
      best = guess;
      best_looks = bits;
    }
  }
  best.width_is_open = possible > 1;
  return best;
}

/// Frames of nodes that this octet, or two, would tell apart.
std::vector<Framed> grouped(const AddressQuestion& question, std::size_t from, std::size_t octets,
                            std::size_t& nodes) {
  std::map<std::uint64_t, std::size_t> counts;
  for (const Octets* const frame : question.frames) {
    ++counts[value_at(*frame, from, octets, ByteOrder::big)];
  }
  std::map<std::uint64_t, std::size_t> numbers;
  for (const auto& [value, count] : counts) {
    if (count >= 3) numbers.emplace(value, numbers.size());
  }
  nodes = numbers.size();
  std::vector<Framed> out;
  if (nodes == 0 || nodes > kMostNodes) return out;
  for (const Octets* const frame : question.frames) {
    const auto number = numbers.find(value_at(*frame, from, octets, ByteOrder::big));
    if (number == numbers.end()) continue;
    Framed framed;
    framed.octets = *frame;
    framed.node = number->second;
    out.push_back(std::move(framed));
  }
  return out;
}

}  // namespace

std::optional<AddressGuess> find_labels(const AddressQuestion& question,
                                        std::span<const std::string> labels) {
  std::optional<AddressGuess> best;
  for (const Reading& reading : readings_of(labels)) {
    for (std::size_t from = 0; from + reading.octets <= question.length; ++from) {
      if (!is_free(question.taken, from, from + reading.octets)) continue;
      for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
        if (reading.octets == 1 && order == ByteOrder::little) continue;
        const AddressGuess guess = judge(question, reading, from, order);
        const bool is_better = !best || guess.bits > best->bits ||
                               (guess.bits == best->bits && guess.matched > best->matched);
        if (guess.bits > 0 && is_better) best = guess;
      }
    }
  }
  if (!best || best->in_decimal || best->octets < 2) return best;
  return extended(question, *best);
}

std::optional<AddressGuess> find_nodes(const AddressQuestion& question) {
  std::optional<AddressGuess> best;
  double best_bits = 0;
  for (const std::size_t octets : {std::size_t{1}, std::size_t{2}}) {
    for (std::size_t from = 0; from + octets <= question.length; ++from) {
      if (!is_free(question.taken, from, from + octets)) continue;
      std::size_t nodes = 0;
      const std::vector<Framed> frames = grouped(question, from, octets, nodes);
      if (nodes < 2 || 4 * frames.size() < 3 * question.frames.size()) continue;
      std::vector<Taken> taken(question.taken.begin(), question.taken.end());
      taken.push_back({from, from + octets});
      const auto counter = search_counter(frames, taken, question.length);
      const double bits = counter ? counter->bits : 0;
      if (bits > best_bits + (octets == 1 ? 0 : 8)) {
        best_bits = bits;
        best.emplace();
        best->from = from;
        best->octets = octets;
        best->width_is_open = true;
      }
    }
  }
  return best;
}

std::string address_text(const AddressGuess& address, const Octets& octets) {
  const Address out{value_at(octets, address.from, address.octets, address.order),
                    static_cast<std::uint8_t>(2 * address.octets)};
  return out.text();
}

}  // namespace fieldfare::learn
