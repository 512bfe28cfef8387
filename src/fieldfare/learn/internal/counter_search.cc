// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/counter_search.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace fieldfare::learn {
namespace {

using fleet::ByteOrder;

constexpr std::uint64_t kLargestGap = 255;
constexpr std::uint64_t kLargestStart = 7;      // a restarted counter begins at 0, 1 or little more
constexpr std::uint64_t kLargestGapOfWrap = 8;  // where it looks like a restart as well
constexpr double kLeastBits = 20;

enum class Step : std::uint8_t { one, none, forward, restart, other };

std::uint64_t modulus_mask(int octets) { return (std::uint64_t{1} << 8 * octets) - 1; }

/// `provoked`: somebody may have restarted the node before the second report.
Step step_of(std::uint64_t before, std::uint64_t now, int octets, bool provoked) {
  const std::uint64_t difference = (now - before) & modulus_mask(octets);
  if (difference == 1) return Step::one;
  if (difference == 0) return Step::none;
  const bool is_wrap = difference <= kLargestGapOfWrap && !provoked;
  if (now <= kLargestStart && now < before && !is_wrap) return Step::restart;
  // Half a wrap forward is as well one backward.
  return difference <= std::min(kLargestGap, modulus_mask(octets) >> 2) ? Step::forward
                                                                        : Step::other;
}

// Bits to write down a step of a counter: nearly all are by one, some reports are
// lost, few are repeated, now and then a node is restarted.
double bits_of_step(Step step, std::uint64_t difference, int octets) {
  const double any = 5 + 8.0 * octets;
  switch (step) {
    case Step::one:
      return 0.4;
    case Step::none:
      return 5;
    case Step::forward:
      return std::min(any, 2.5 + 1.5 * std::log2(static_cast<double>(difference)));
    case Step::restart:
      return std::min(any, 8.0);
    case Step::other:
      return any;
  }
  return any;
}

/// Of the first number of a node: small ones come more often than chance has it.
double bits_of_first(std::uint64_t value, int octets) {
  if (octets == 1) return 9;
  if (value < 0x100) return 10;
  if (octets == 4 && value < 0x1'0000) return 19;
  return 8.0 * octets + 1;
}

/// What octets of a column cost that tend to stay as they were at the same node.
class ColumnCosts {
 public:
  ColumnCosts(std::span<const Framed> frames, std::size_t length) : bits_(length) {
    for (std::size_t place = 0; place < length; ++place) bits_[place] = cost_of(frames, place);
  }
  double operator[](std::size_t place) const { return bits_[place]; }

 private:
  static double cost_of(std::span<const Framed> frames, std::size_t place) {
    std::map<std::size_t, std::uint8_t> newest;
    std::map<std::uint8_t, double> firsts;
    double bits = 0;
    double same = 0.5;
    double all = 1;
    for (const Framed& frame : frames) {
      const std::uint8_t octet = frame.octets[place];
      const auto known = newest.find(frame.node);
      if (known == newest.end()) {
        // Of its first octets, those that another node had cost less.
        const auto nodes = static_cast<double>(newest.size());
        const auto kinds = static_cast<double>(firsts.size());
        double& count = firsts[octet];
        if (count == 0) {
          bits += 8 + (nodes > 0 ? std::log2((nodes + kinds) / kinds) : 0);
        } else {
          bits += std::log2((nodes + kinds) / count);
        }
        count += 1;
        newest.emplace(frame.node, octet);
        continue;
      }
      const bool stays = known->second == octet;
      bits += stays ? -std::log2(same / all) : 8 - std::log2((all - same) / all);
      same += stays ? 1 : 0;
      all += 1;
      known->second = octet;
    }
    return bits;
  }

  std::vector<double> bits_;
};

std::uint64_t value_at(const fleet::Octets& octets, std::size_t at, int width, ByteOrder order) {
  std::uint64_t out = 0;
  const auto size = static_cast<std::size_t>(width);
  for (std::size_t i = 0; i < size; ++i) {
    out = out << 8 | octets[at + (order == ByteOrder::big ? i : size - 1 - i)];
  }
  return out;
}

double bits_as_counter(std::span<const Framed> frames, const CounterGuess& guess) {
  std::map<std::size_t, std::uint64_t> newest;
  double bits = 0;
  for (const Framed& frame : frames) {
    const std::uint64_t now = count_in(guess, frame.octets);
    const auto [known, is_first] = newest.try_emplace(frame.node, now);
    if (is_first) {
      bits += bits_of_first(now, guess.octets);
      continue;
    }
    const std::uint64_t difference = (now - known->second) & modulus_mask(guess.octets);
    const Step step = step_of(known->second, now, guess.octets, frame.provoked);
    bits += bits_of_step(step, difference, guess.octets);
    known->second = now;
  }
  return bits;
}

bool is_free(std::span<const Taken> taken, std::size_t from, std::size_t to) {
  return std::none_of(taken.begin(), taken.end(),
                      [&](const Taken& other) { return from < other.to && other.from < to; });
}

/// The place of the octet that changes most often.
std::size_t low_octet(const CounterGuess& guess) {
  const bool is_big = guess.order == ByteOrder::big;
  return guess.at + (is_big ? static_cast<std::size_t>(guess.octets) - 1 : 0);
}

}  // namespace

std::uint64_t count_in(const CounterGuess& counter, const fleet::Octets& octets) {
  return value_at(octets, counter.at, counter.octets, counter.order);
}

void count_steps(std::span<const Framed> frames, CounterGuess& guess) {
  guess.steps = guess.by_one = guess.forward = guess.restarts = guess.starts_seen = 0;
  guess.starts_at.reset();
  std::map<std::size_t, std::uint64_t> newest;
  std::map<std::uint64_t, std::size_t> starts;
  bool is_provoked = false;  // what was provoked says more than what happened by itself
  for (const Framed& frame : frames) {
    const std::uint64_t now = count_in(guess, frame.octets);
    const auto [known, is_first] = newest.try_emplace(frame.node, now);
    if (is_first) continue;
    const Step step = step_of(known->second, now, guess.octets, frame.provoked);
    ++guess.steps;
    guess.by_one += step == Step::one ? 1 : 0;
    guess.forward += step == Step::forward ? 1 : 0;
    guess.restarts += step == Step::restart ? 1 : 0;
    known->second = now;
    if (step != Step::restart || (is_provoked && !frame.provoked)) continue;
    if (frame.provoked && !is_provoked) starts.clear();
    is_provoked = frame.provoked;
    ++starts[now];
  }
  for (const auto& [value, count] : starts) {
    if (count <= guess.starts_seen) continue;
    guess.starts_at = value;
    guess.starts_seen = count;
  }
}

bool is_restart(const CounterGuess& counter, const fleet::Octets& before,
                const fleet::Octets& now) {
  return step_of(count_in(counter, before), count_in(counter, now), counter.octets, true) ==
         Step::restart;
}

std::optional<CounterGuess> search_counter(std::span<const Framed> frames,
                                           std::span<const Taken> taken, std::size_t length) {
  const ColumnCosts columns{frames, length};
  std::vector<CounterGuess> guesses;
  for (std::size_t at = 0; at < length; ++at) {
    for (const int octets : {1, 2, 4}) {
      const auto end = at + static_cast<std::size_t>(octets);
      if (end > length || !is_free(taken, at, end)) continue;
      for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
        if (octets == 1 && order == ByteOrder::little) continue;
        CounterGuess guess;
        guess.at = at;
        guess.octets = octets;
        guess.order = order;
        for (std::size_t place = at; place < end; ++place) guess.bits += columns[place];
        guess.bits -= bits_as_counter(frames, guess);
        if (guess.bits > 0) guesses.push_back(guess);
      }
    }
  }
  if (guesses.empty()) return std::nullopt;
  std::stable_sort(guesses.begin(), guesses.end(),
                   [](const CounterGuess& a, const CounterGuess& b) { return a.bits > b.bits; });
  CounterGuess best = guesses.front();
  count_steps(frames, best);
  if (best.bits < kLeastBits || 3 * best.by_one < best.steps) return std::nullopt;
  best.bits_ahead = best.bits;
  for (const CounterGuess& other : std::span{guesses}.subspan(1)) {
    if (low_octet(other) != low_octet(best)) continue;
    best.bits_ahead = best.bits - other.bits;
    best.rival_octets = other.octets;
    best.rival_order = other.order;
    break;
  }
  return best;
}

void number_reports(const CounterGuess& counter, std::span<Framed> frames) {
  struct Newest {
    std::uint64_t count = 0;
    std::size_t order = 0;
  };
  std::map<std::size_t, Newest> nodes;
  for (Framed& frame : frames) {
    const std::uint64_t now = count_in(counter, frame.octets);
    const auto [node, is_first] = nodes.try_emplace(frame.node, Newest{now, 0});
    if (!is_first) {
      const Step step = step_of(node->second.count, now, counter.octets, frame.provoked);
      const std::uint64_t difference = (now - node->second.count) & modulus_mask(counter.octets);
      node->second.order += step == Step::forward ? static_cast<std::size_t>(difference)
                            : step == Step::none  ? 0
                                                  : 1;
      node->second.count = now;
    }
    frame.order = node->second.order;
  }
}

}  // namespace fieldfare::learn
