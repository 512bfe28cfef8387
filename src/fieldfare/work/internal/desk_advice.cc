// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/work/internal/desk_advice.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

namespace fieldfare::work::internal {
namespace {

/// When the next part of the list is told. Chosen so that nobody is lectured who has
/// just sat down; a node that was switched on speaks within seconds.
constexpr Duration kSoon{30LL * 1'000'000'000};
constexpr Duration kAfterAWhile{120LL * 1'000'000'000};
constexpr Duration kLong{300LL * 1'000'000'000};
/// Octets that hold a frame or more, whatever its kind.
constexpr std::uint64_t kOctetsOfFrames = 512;

std::string called(const DeskSource& source) {
  return source.where.empty() ? source.name : fmt::format("{} ({})", source.name, source.where);
}

void add_faults(std::vector<std::string>& advice, const std::vector<DeskSource>& sources) {
  for (const DeskSource& source : sources) {
    if (source.is_up) continue;
    std::string text = called(source) + ": " + source.state;
    if (!source.remedy.empty()) text += "; " + source.remedy;
    advice.push_back(std::move(text));
  }
}

bool is_heard(const DeskView& view) {
  return std::any_of(view.rows.begin(), view.rows.end(),
                     [](const DeskRow& row) { return row.newest.has_value(); });
}

/// Ports have a speed; brokers and sockets have none.
std::string no_frames(const DeskSource& source) {
  const bool is_port = source.where.starts_with("/dev/");
  return fmt::format("{}: {} bytes came in, but no whole frame was made out; if that lasts, {}",
                     called(source), source.octets,
                     is_port ? "try another speed (baud)" : "look at what is sent there");
}

/// Bytes without frames, and frames that say nothing.
void add_unread(std::vector<std::string>& advice, const DeskView& view) {
  const bool given = view.frames.state == DeskFrames::State::given;
  for (const DeskSource& source : view.sources) {
    if (source.octets >= kOctetsOfFrames && source.frames == 0) {
      advice.push_back(no_frames(source));
    } else if (given && source.unread > source.frames) {
      advice.push_back(
          fmt::format("{}: {} of {} frames can't be read: the sheet is not of this kind of node",
                      called(source), source.unread, source.unread + source.frames));
    } else if (!given && source.frames > 0 && !is_heard(view)) {
      advice.push_back(
          fmt::format("{}: {} frames came in; learning to read them goes on: type the last digits "
                      "of the labels, and provoke reports",
                      called(source), source.frames));
    }
  }
}

/// For how long no node was heard; nothing where none was due.
std::optional<Duration> silence_of(const DeskView& view) {
  Instant newest = view.since;
  std::optional<Duration> shortest;
  bool heard = false;
  for (const DeskRow& row : view.rows) {
    if (!row.newest) continue;
    heard = true;
    newest = std::max(newest, *row.newest);
    if (row.interval) shortest = std::min(shortest.value_or(*row.interval), *row.interval);
  }
  const Duration silence = view.now - newest;
  if (!heard) return silence;
  // Three beats of the fastest: one of them would have been heard.
  const bool due = shortest && silence.ns / 3 >= shortest->ns;
  return due && silence >= kLong ? std::optional{silence} : std::nullopt;
}

void add_checks(std::vector<std::string>& advice, const DeskView& view, Duration silence) {
  const bool some_up = std::any_of(view.sources.begin(), view.sources.end(),
                                   [](const DeskSource& source) { return source.is_up; });
  const bool bytes = std::any_of(view.sources.begin(), view.sources.end(),
                                 [](const DeskSource& source) { return source.octets > 0; });
  if (silence < kSoon) return;
  advice.emplace_back("switch a node on and check which way round its cells are");
  advice.emplace_back(
      "screw on both antennas before switching on, and keep node and receiver 1 to 3 m apart");
  if (silence < kAfterAWhile) return;
  advice.emplace_back(
      "press the node's button or restart it: it may sleep for an hour between reports");
  if (some_up && !bytes) {
    advice.emplace_back(
        "no byte came in: is this the receiver's port? Pull the receiver out and see which port "
        "goes; if none does, its driver or cable is missing, or your rights to the port");
  }
  if (silence < kLong) return;
  if (some_up) {
    advice.emplace_back(
        "try the port's other speeds (baud), and look up how the receiver is made to hand on what "
        "it hears");
  }
  advice.emplace_back(
      "check that node and receiver are made for the same band and set to the same channel and "
      "network");
}

}  // namespace

std::vector<std::string> advice_of(const DeskView& view) {
  std::vector<std::string> advice;
  add_faults(advice, view.sources);
  add_unread(advice, view);
  // A way in that is closed, or unreadable, is reason enough for silence.
  const bool explained =
      !advice.empty() &&
      std::none_of(view.sources.begin(), view.sources.end(),
                   [](const DeskSource& source) { return source.is_up && source.octets == 0; });
  if (const auto silence = silence_of(view); silence && !explained) {
    add_checks(advice, view, *silence);
  }
  if (view.rows.size() >= kMostNodes) {
    advice.push_back(fmt::format(
        "{} nodes were heard, and no more are kept: so many are rarely true, check what is learnt "
        "of the frames",
        kMostNodes));
  }
  return advice;
}

}  // namespace fieldfare::work::internal
