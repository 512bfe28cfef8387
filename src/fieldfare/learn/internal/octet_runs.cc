// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/octet_runs.h"

#include <algorithm>
#include <iterator>
#include <numeric>

namespace fieldfare::learn {
namespace {

// Pieces in which a share of a long stream is taken: enough to see all of a day,
// few enough that little is lost where they are cut.
constexpr std::size_t kPieces = 12;

void append(Run& run, const Arrival& arrival) {
  run.noted.push_back({run.octets.size(), arrival.at});
  run.octets.insert(run.octets.end(), arrival.octets.begin(), arrival.octets.end());
}

Run piece_of(const Run& run, std::size_t from, std::size_t size) {
  Run out;
  const auto begin = run.octets.begin() + static_cast<std::ptrdiff_t>(from);
  out.octets.assign(begin, begin + static_cast<std::ptrdiff_t>(size));
  out.noted.push_back({0, run.came_at(from)});
  const auto next = std::upper_bound(
      run.noted.begin(), run.noted.end(), from,
      [](std::size_t offset, const Run::Noted& noted) { return offset < noted.from; });
  for (auto noted = next; noted != run.noted.end() && noted->from < from + size; ++noted) {
    out.noted.push_back({noted->from - from, noted->at});
  }
  return out;
}

}  // namespace

std::optional<Instant> Run::came_at(std::size_t offset) const {
  const auto next =
      std::upper_bound(noted.begin(), noted.end(), offset,
                       [](std::size_t wanted, const Noted& note) { return wanted < note.from; });
  return next == noted.begin() ? std::nullopt : std::prev(next)->at;
}

bool Run::begins_arrival(std::size_t offset) const {
  return std::binary_search(noted.begin(), noted.end(), Noted{offset, {}},
                            [](const Noted& a, const Noted& b) { return a.from < b.from; });
}

std::size_t Runs::arrivals() const {
  return std::accumulate(runs.begin(), runs.end(), std::size_t{0},
                         [](std::size_t sum, const Run& run) { return sum + run.noted.size(); });
}

std::size_t Runs::octets() const {
  return std::accumulate(runs.begin(), runs.end(), std::size_t{0},
                         [](std::size_t sum, const Run& run) { return sum + run.octets.size(); });
}

Runs runs_of(const Sample& sample, std::size_t most) {
  Runs stream;
  Runs messages{{}, true};
  stream.runs.emplace_back();
  for (const Arrival& arrival : sample.arrivals) {
    if (arrival.octets.empty()) continue;
    if (arrival.whole) messages.runs.emplace_back();
    append(arrival.whole ? messages.runs.back() : stream.runs.back(), arrival);
  }
  return share_of(messages.octets() > stream.octets() ? messages : stream, most);
}

Runs share_of(const Runs& runs, std::size_t most) {
  const std::size_t all = runs.octets();
  if (all <= most) return runs;
  Runs out{{}, runs.whole};
  if (runs.whole) {
    const std::size_t step = (all + most - 1) / most;
    for (std::size_t i = 0; i < runs.runs.size(); i += step) out.runs.push_back(runs.runs[i]);
    return out;
  }
  for (const Run& run : runs.runs) {
    const std::size_t part = std::max<std::size_t>(1, run.octets.size() * most / all / kPieces);
    const std::size_t step = std::max(part, run.octets.size() / kPieces);
    for (std::size_t from = 0; from + part <= run.octets.size(); from += step) {
      out.runs.push_back(piece_of(run, from, part));
    }
  }
  return out;
}

}  // namespace fieldfare::learn
