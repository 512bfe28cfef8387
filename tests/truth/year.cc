// SPDX-License-Identifier: Apache-2.0
#include "year.h"

#include <array>
#include <charconv>
#include <cmath>
#include <cstddef>
#include <functional>
#include <queue>
#include <tuple>
#include <vector>

#include "dice.h"
#include "log_text.h"

namespace fieldfare::truth {
namespace {

constexpr std::int64_t kBeginNs = 1'767'225'600'000'000'000;  // 2026-01-01T00:00:00Z
constexpr std::int64_t kDayNs = 86'400'000'000'000;
constexpr std::int64_t kSecondReceiverLateNs = 2'000'000;

struct Share {
  std::uint32_t nodes;  ///< of 200
  double interval_s;
};
constexpr std::array<Share, 5> kShares = {
    {{38, 600}, {41, 900}, {40, 1200}, {41, 2400}, {40, 3600}}};

double interval_of(std::uint32_t node) {
  std::uint32_t rank = node % 200;
  for (const Share& share : kShares) {
    if (rank < share.nodes) return share.interval_s;
    rank -= share.nodes;
  }
  return kShares.back().interval_s;
}

/// A smooth wave of period 1 between -1 and 1 out of two parabolas: close to a
/// sine, and the same digits on every platform.
double wave(double phase) {
  const double x = 2 * (phase - std::floor(phase)) - 1;
  return 4 * x * (1 - std::abs(x));
}

double rounded(double value, double steps) { return std::floor(value * steps + 0.5) / steps; }

class YearNode {
 public:
  YearNode(std::uint32_t number, const YearSize& size)
      : number_{number},
        dice_{size.seed, number + 1},
        loss_{size.loss},
        interval_s_{interval_of(number) * (1 + dice_.uniform(-50e-6, 50e-6))},
        next_s_{dice_.uniform() * interval_s_},
        seq_{dice_.below(65536)},
        level_dbm_{dice_.uniform(-95, -60)},
        warmth_c_{dice_.uniform(4, 14)} {}

  std::int64_t next_ns() const {
    return kBeginNs + static_cast<std::int64_t>(std::floor(next_s_ * 1e9));
  }

  /// Draws the report that is due, then moves on to the next.
  template <class Hear>
  void report(Hear hear) {
    YearRow row = read();
    for (std::uint32_t receiver = 0; receiver < 2; ++receiver) {
      if (dice_.chance(loss_)) continue;
      row.receiver = receiver;
      row.time_ns = next_ns() + receiver * kSecondReceiverLateNs;
      row.rssi_dbm = std::floor(level_dbm_ - 8.0 * receiver + 3 * dice_.normal());
      row.snr_db = rounded((row.rssi_dbm + 110) / 4, 4);
      hear(row);
    }
    seq_ = (seq_ + 1) % 65536;
    next_s_ += interval_s_ * (1 + 1e-4 * dice_.normal());
  }

 private:
  YearRow read() {
    const double day = next_s_ / 86400;
    YearRow row;
    row.node = number_;
    row.seq = seq_;
    row.temperature_c =
        rounded(warmth_c_ + 6 * wave(day / 365.25) + 2 * wave(day) + 0.1 * dice_.normal(), 10);
    row.humidity_pct = rounded(85 - 8 * wave(day) + 0.5 * dice_.normal(), 10);
    return row;
  }

  std::uint32_t number_;
  Dice dice_;
  double loss_;
  double interval_s_;
  double next_s_;
  std::uint64_t seq_;
  double level_dbm_;
  double warmth_c_;
};

struct Later {
  bool operator()(const YearRow& a, const YearRow& b) const {
    return std::tie(a.time_ns, a.node, a.receiver) > std::tie(b.time_ns, b.node, b.receiver);
  }
};

void append_number(double number, std::string& text) {
  std::array<char, 32> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
  text.append(digits.data(), end);
}

}  // namespace

std::uint64_t stream_year(const YearSize& size, void (*take)(void*, const YearRow&),
                          void* context) {
  std::vector<YearNode> nodes;
  using Due = std::pair<std::int64_t, std::uint32_t>;
  std::priority_queue<Due, std::vector<Due>, std::greater<>> due;
  for (std::uint32_t i = 0; i < size.nodes; ++i) {
    nodes.emplace_back(i, size);
    due.emplace(nodes.back().next_ns(), i);
  }
  // Hearings wait here while the second receiver's lag can let others pass.
  std::priority_queue<YearRow, std::vector<YearRow>, Later> waiting;
  const std::int64_t end_ns = kBeginNs + size.days * kDayNs;
  std::uint64_t hearings = 0;
  const auto release_before = [&](std::int64_t time_ns) {
    for (; !waiting.empty() && waiting.top().time_ns < time_ns; waiting.pop(), ++hearings) {
      take(context, waiting.top());
    }
  };
  while (!due.empty() && due.top().first < end_ns) {
    const auto [time_ns, node] = due.top();
    due.pop();
    release_before(time_ns);
    nodes[node].report([&](const YearRow& row) { waiting.push(row); });
    due.emplace(nodes[node].next_ns(), node);
  }
  release_before(end_ns + kDayNs);
  return hearings;
}

std::string_view year_csv_header() {
  return "time,node,receiver,seq,rssi_dbm,snr_db,temperature_c,humidity_pct\n";
}

void append_year_csv(const YearRow& row, std::string& text) {
  append_time(row.time_ns, text);
  text += ',' + node_address(row.node) + (row.receiver == 0 ? ",r1" : ",r2");
  for (const double number : {static_cast<double>(row.seq), row.rssi_dbm, row.snr_db,
                              row.temperature_c, row.humidity_pct}) {
    text += ',';
    append_number(number, text);
  }
  text += '\n';
}

void append_year_json(const YearRow& row, std::string& text) {
  text += R"({"time":")";
  append_time(row.time_ns, text);
  text += R"(","node":")" + node_address(row.node) + R"(","receiver":")";
  text += row.receiver == 0 ? "r1\"" : "r2\"";
  const std::array<std::pair<std::string_view, double>, 5> numbers = {
      {{"seq", static_cast<double>(row.seq)},
       {"rssi_dbm", row.rssi_dbm},
       {"snr_db", row.snr_db},
       {"temperature_c", row.temperature_c},
       {"humidity_pct", row.humidity_pct}}};
  for (const auto& [key, number] : numbers) {
    text += ",\"";
    text += key;
    text += "\":";
    append_number(number, text);
  }
  text += "}\n";
}

}  // namespace fieldfare::truth
