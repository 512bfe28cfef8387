// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/beat_line.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <functional>
#include <optional>

#include "fieldfare/render/words.h"

namespace fieldfare::render {
namespace {

using evidence::NodeEvidence;
using evidence::ReceiverSilence;
using evidence::RecentReport;

constexpr std::size_t kNeighbours = 4;
/// Longer rows of missed beats are written as a number.
constexpr std::uint64_t kLongestDrawn = 6;
/// In longer ones the beats aren't told apart by the receiver's silence.
constexpr std::uint64_t kLongestExamined = 256;

struct Glyph {
  const char* unicode;
  const char* ascii;
};
constexpr std::array<Glyph, 6> kGlyphs = {
    {{"│", "|"}, {"╲", "\\"}, {"╱", "/"}, {"·", "."}, {"╌", "-"}, {"╿", "^"}}};

const char* glyph_of(Mark mark, bool unicode) {
  const Glyph& glyph = kGlyphs[static_cast<std::size_t>(mark)];
  return unicode ? glyph.unicode : glyph.ascii;
}

/// A twentieth of the interval, but not less than logs of whole seconds can
/// show, unless the beats themselves are that close.
Duration tolerance_of(Duration interval) {
  const Duration readable{2'000'000'000};
  return std::max(Duration{interval.ns / 20}, std::min(readable, Duration{interval.ns / 4}));
}

bool same_run(std::span<const RecentReport> reports, std::size_t a, std::size_t b) {
  for (std::size_t i = std::min(a, b) + 1; i <= std::max(a, b); ++i) {
    if (reports[i].starts_run) return false;
  }
  return true;
}

/// How far report `at` fell from the beat of its neighbours.
Duration offset_from_beat(std::span<const RecentReport> reports, std::size_t at,
                          Duration interval) {
  const auto from_here = [&](std::size_t i) {
    const auto steps = static_cast<std::int64_t>(reports[i].number - reports[at].number);
    return (reports[i].time - reports[at].time).ns - steps * interval.ns;
  };
  std::vector<std::int64_t> offsets;
  const std::size_t first = at > kNeighbours ? at - kNeighbours : 0;
  const std::size_t end = std::min(reports.size(), at + kNeighbours + 1);
  for (std::size_t i = first; i < end; ++i) {
    if (same_run(reports, i, at) && !reports[i].batched) offsets.push_back(from_here(i));
  }
  const auto middle = offsets.begin() + static_cast<std::ptrdiff_t>(offsets.size() / 2);
  std::nth_element(offsets.begin(), middle, offsets.end());
  return Duration{-*middle};
}

Mark mark_of(std::span<const RecentReport> reports, std::size_t at,
             const std::optional<Duration>& interval) {
  if (at > 0 && reports[at].starts_run) return Mark::new_run;
  if (!interval || reports[at].batched) return Mark::on_beat;
  const Duration offset = offset_from_beat(reports, at, *interval);
  const Duration tolerance = tolerance_of(*interval);
  if (tolerance < offset) return Mark::late;
  if (tolerance < Duration{-offset.ns}) return Mark::early;
  return Mark::on_beat;
}

bool deaf_at(Instant beat, const NodeEvidence& node, std::span<const ReceiverSilence> silences) {
  return std::any_of(silences.begin(), silences.end(), [&](const ReceiverSilence& silence) {
    const bool known = std::any_of(node.links.begin(), node.links.end(), [&](const auto& link) {
      return link.receiver == silence.receiver;
    });
    return known && silence.from < beat && beat < silence.to;
  });
}

void append(std::vector<Beat>& beats, Mark mark, std::uint64_t count) {
  if (!beats.empty() && beats.back().mark == mark) {
    beats.back().count += count;
  } else {
    beats.push_back({mark, count});
  }
}

/// The beats between two reports of one run, of which nothing was heard.
void append_missed(std::vector<Beat>& beats, const RecentReport& before, const RecentReport& after,
                   const std::function<bool(Instant)>& deaf) {
  const std::uint64_t missed = after.number - before.number - 1;
  const Duration gap = after.time - before.time;
  const auto beat_at = [&](double share) {
    return before.time + Duration{static_cast<std::int64_t>(static_cast<double>(gap.ns) * share)};
  };
  if (missed > kLongestExamined) {
    append(beats, deaf(beat_at(0.5)) ? Mark::deaf : Mark::missed, missed);
    return;
  }
  for (std::uint64_t i = 1; i <= missed; ++i) {
    const double share = static_cast<double>(i) / static_cast<double>(missed + 1);
    append(beats, deaf(beat_at(share)) ? Mark::deaf : Mark::missed, 1);
  }
}

bool is_gap(Mark mark) { return mark == Mark::missed || mark == Mark::deaf; }

std::string drawing_of(const Beat& beat, bool unicode) {
  const char* glyph = glyph_of(beat.mark, unicode);
  if (is_gap(beat.mark) && beat.count > kLongestDrawn) {
    return fmt::format("{}{}{}", glyph, beat.count, glyph);
  }
  std::string drawing;
  for (std::uint64_t i = 0; i < beat.count; ++i) drawing += glyph;
  return drawing;
}

}  // namespace

std::vector<Beat> beats_of(const judge::NodeVerdict& verdict,
                           std::span<const ReceiverSilence> silences) {
  const NodeEvidence& node = verdict.evidence;
  const std::span<const RecentReport> reports = node.recent;
  std::optional<Duration> interval;
  if (node.cadence && node.cadence->interval_s > 0) {
    interval = Duration::seconds(node.cadence->interval_s);
  }
  const auto deaf = [&](Instant beat) { return deaf_at(beat, node, silences); };
  std::vector<Beat> beats;
  for (std::size_t i = 0; i < reports.size(); ++i) {
    const bool goes_on = i > 0 && !reports[i].starts_run;
    if (goes_on && reports[i].number > reports[i - 1].number + 1) {
      append_missed(beats, reports[i - 1], reports[i], deaf);
    }
    append(beats, mark_of(reports, i, interval), 1);
  }
  if (verdict.quiet) append(beats, Mark::missed, verdict.quiet->beats);
  return beats;
}

std::string beat_line(std::span<const Beat> beats, std::size_t width, bool unicode) {
  std::string line;
  std::size_t used = 0;
  for (auto beat = beats.rbegin(); beat != beats.rend() && used < width; ++beat) {
    Beat drawn = *beat;
    // Ticks are drawn as far as there is room; a number is drawn whole or not.
    if (!is_gap(drawn.mark)) drawn.count = std::min<std::uint64_t>(drawn.count, width - used);
    const std::string drawing = drawing_of(drawn, unicode);
    const std::size_t wide = columns(drawing);
    if (used + wide > width) break;
    line.insert(0, drawing);
    used += wide;
  }
  return std::string(width - used, ' ') + line;
}

std::string beat_legend(bool unicode) {
  const auto glyph = [unicode](Mark mark) { return glyph_of(mark, unicode); };
  return fmt::format(
      "Beats, newest at the right: {} heard, leaning {} where early and {} where late by over a "
      "twentieth of the interval; {} missed ({}12{} that many); {} missed while the receiver heard "
      "nobody; {} first after a reset, a jump or a sleep.",
      glyph(Mark::on_beat), glyph(Mark::early), glyph(Mark::late), glyph(Mark::missed),
      glyph(Mark::missed), glyph(Mark::missed), glyph(Mark::deaf), glyph(Mark::new_run));
}

}  // namespace fieldfare::render
