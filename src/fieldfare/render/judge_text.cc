// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/judge_text.h"

#include <fmt/core.h>

#include <algorithm>
#include <vector>

#include "fieldfare/render/beat_line.h"
#include "fieldfare/render/internal/page.h"
#include "fieldfare/render/internal/phrases.h"

namespace fieldfare::render {
namespace {

using internal::Page;
using Nodes = std::vector<const judge::NodeVerdict*>;

constexpr std::size_t kWide = 100;
constexpr std::size_t kNarrow = 60;
constexpr std::size_t kWidestName = 24;
constexpr std::size_t kFewestBeats = 24;
constexpr std::size_t kVerdictWidth = 6;

std::string name_of(const Page& page, const JudgeView& view, const evidence::NodeEvidence& node) {
  return page.safe(view.labels.label(node.node).name);
}

/// Failed before open before met, and in each the poorest delivery first.
Nodes worst_first(const judge::FleetVerdict& verdict) {
  Nodes nodes;
  for (const judge::NodeVerdict& node : verdict.nodes) nodes.push_back(&node);
  const auto rank = [](const judge::NodeVerdict* node) {
    switch (node->worst()) {
      case judge::Outcome::failed:
        return 0;
      case judge::Outcome::open:
        return 1;
      case judge::Outcome::met:
        return 2;
    }
    return 3;
  };
  const auto ratio = [](const judge::NodeVerdict* node) {
    return node->delivery ? node->delivery->ratio : 2.0;
  };
  std::stable_sort(nodes.begin(), nodes.end(), [&](const auto* a, const auto* b) {
    return std::pair{rank(a), ratio(a)} < std::pair{rank(b), ratio(b)};
  });
  return nodes;
}

std::string verdict_of(const Page& page, const judge::NodeVerdict& node) {
  if (node.verdicts.empty()) return fit("-", kVerdictWidth, page.style().unicode);
  const judge::Outcome worst = node.worst();
  const std::string word = fit(word_of(worst), kVerdictWidth, page.style().unicode);
  return worst == judge::Outcome::failed ? page.accent(word) : word;
}

void put_title(Page& page, const JudgeView& view, const TextStyle& style) {
  const JudgeQuestion& question = view.question;
  const Stretch heard = heard_stretch(view.verdict);
  std::string title = counted(view.verdict.nodes.size(), "node", "nodes");
  if (question.with_site) title = fmt::format("{}: {}", page.safe(question.site_name), title);
  if (heard.first && heard.last) {
    title +=
        fmt::format(", heard from {} to {}", local_time(*heard.first), local_time(*heard.last));
    title += fmt::format(" ({})", page.safe(question.time_zone));
  }
  title += fmt::format(", {}", counted(view.run.rows_read, "row", "rows"));
  page.line(page.bold(wrap(title, style.width, 2)));
  if (question.invented) page.sentence("This site is invented, and so is all of its data.");
}

/// Widths of the columns that the nodes and the terminal ask for.
struct Layout {
  std::size_t name = 4;
  std::size_t beats = 12;
  std::size_t delivery = 8;
  std::size_t interval = 0;  ///< 0: left out
  std::size_t signal = 0;
};

Layout layout_of(const Page& page, const JudgeView& view, const Nodes& nodes) {
  Layout layout;
  const bool wide = page.style().width >= kWide;
  for (const judge::NodeVerdict* node : nodes) {
    layout.name = std::max(layout.name, columns(name_of(page, view, node->evidence)));
    layout.delivery = std::max(layout.delivery, columns(internal::delivery_phrase(node->delivery)));
    if (!wide) continue;
    const auto& cadence = node->evidence.cadence;
    layout.interval =
        std::max({layout.interval, std::size_t{8}, columns(internal::interval_phrase(cadence))});
    if (!node->margin) continue;
    layout.signal =
        std::max({layout.signal, std::size_t{6}, columns(internal::signal_phrase(*node))});
  }
  layout.name = std::min(layout.name, wide ? kWidestName : kWidestName - 8);
  const auto room_for_beats = [&] {
    std::size_t taken = kVerdictWidth + 2 + layout.name + 2 + 2 + layout.delivery;
    if (layout.interval > 0) taken += 2 + layout.interval;
    if (layout.signal > 0) taken += 2 + layout.signal;
    return page.style().width > taken ? page.style().width - taken : 0;
  };
  // The beats tell more than the rest.
  if (room_for_beats() < kFewestBeats) layout.signal = 0;
  if (room_for_beats() < kFewestBeats) layout.interval = 0;
  layout.beats = std::max(layout.beats, room_for_beats());
  return layout;
}

void put_row(Page& page, const Layout& layout, const std::vector<std::string>& cells) {
  const bool unicode = page.style().unicode;
  std::string line = fmt::format("{}  {}  {}  {}", cells[0], fit(cells[1], layout.name, unicode),
                                 cells[2], fit(cells[3], layout.delivery, unicode));
  if (layout.interval > 0) line += "  " + fit(cells[4], layout.interval, unicode);
  if (layout.signal > 0) line += "  " + fit(cells[5], layout.signal, unicode);
  page.line(line);
}

void put_table(Page& page, const JudgeView& view, const Nodes& nodes) {
  const Layout layout = layout_of(page, view, nodes);
  const bool unicode = page.style().unicode;
  page.heading("Nodes, the worst first");
  put_row(page, layout,
          {fit("", kVerdictWidth, unicode), "node", fit("last beats", layout.beats, unicode),
           "delivery", "interval", "signal"});
  for (const judge::NodeVerdict* node : nodes) {
    const auto beats = beats_of(*node, view.verdict.receiver_silences);
    put_row(page, layout,
            {verdict_of(page, *node), name_of(page, view, node->evidence),
             beat_line(beats, layout.beats, unicode), internal::delivery_phrase(node->delivery),
             internal::interval_phrase(node->evidence.cadence), internal::signal_phrase(*node)});
  }
}

void put_stack(Page& page, const JudgeView& view, const Nodes& nodes) {
  page.heading("Nodes, the worst first");
  for (const judge::NodeVerdict* node : nodes) {
    const auto beats = beats_of(*node, view.verdict.receiver_silences);
    std::string drawn = beat_line(beats, page.style().width - 2, page.style().unicode);
    drawn.erase(0, std::min(drawn.find_first_not_of(' '), drawn.size()));
    page.line(fmt::format("{} {}", verdict_of(page, *node), name_of(page, view, node->evidence)));
    page.line("  " + drawn);
    page.line("  delivery " + internal::delivery_phrase(node->delivery));
    page.line(fmt::format("  every {}; {}", internal::interval_phrase(node->evidence.cadence),
                          internal::signal_phrase(*node)));
  }
}

void put_legend(Page& page, const JudgeView& view) {
  page.heading("How to read this");
  page.sentence(beat_legend(page.style().unicode));
  page.sentence(fmt::format(
      "Delivery is the share of sent reports that was heard, in brackets its {:g} % interval; "
      "silences of a receiver are left out.",
      view.question.confidence * 100));
}

/// The claims that the node's verdict rests on: `margin failed`.
std::string reason_of(const judge::NodeVerdict& node) {
  std::string names;
  for (const judge::Verdict& verdict : node.verdicts) {
    if (verdict.outcome != node.worst()) continue;
    names += fmt::format("{}{}", names.empty() ? "" : ", ", word_of(verdict.claim));
  }
  return fmt::format("{} {}", names, word_of(node.worst()));
}

/// Advice; for an open claim without any, how much more is needed.
std::optional<std::string> advice_of(const judge::NodeVerdict& node) {
  if (node.verdicts.empty() || node.worst() == judge::Outcome::met) return node.advice;
  if (node.quiet && node.worst() == judge::Outcome::open) return node.advice;
  if (node.advice) return fmt::format("{}: {}", reason_of(node), *node.advice);
  for (const judge::Verdict& verdict : node.verdicts) {
    if (verdict.outcome != judge::Outcome::open || !verdict.needs) continue;
    return fmt::format("{}: wait for {}", reason_of(node), internal::needs_phrase(*verdict.needs));
  }
  return std::nullopt;
}

void put_advice(Page& page, const JudgeView& view, const Nodes& nodes) {
  page.heading("What to do");
  std::size_t width = 0;
  for (const judge::NodeVerdict* node : nodes) {
    if (advice_of(*node)) width = std::max(width, columns(name_of(page, view, node->evidence)));
  }
  for (const judge::NodeVerdict* node : nodes) {
    const auto advice = advice_of(*node);
    if (!advice) continue;
    page.entry(name_of(page, view, node->evidence), page.safe(*advice),
               std::min(width, kWidestName));
  }
}

void put_breaks(Page& page, const JudgeView& view, const judge::NodeVerdict& node) {
  if (!node.evidence.sequence) return;
  const evidence::Sequence& sequence = *node.evidence.sequence;
  const std::string name = name_of(page, view, node.evidence);
  // A few are told one by one; a node that resets all the time, in one line.
  constexpr std::size_t kToldSingly = 3;
  const std::uint64_t all = sequence.breaks.size() + sequence.earlier_breaks;
  if (all > kToldSingly) {
    page.item(fmt::format("{}: the counter broke off {} times, last at {}; see --node", name,
                          count_words(all), local_time(sequence.breaks.back().at)));
  } else {
    for (const evidence::CounterBreak& at : sequence.breaks) {
      page.item(fmt::format("{}, {}", name, internal::break_phrase(at)));
    }
  }
  if (sequence.strays > 0) {
    page.item(fmt::format("{}: {} with a counter that cannot be (stray); the run goes on", name,
                          counted(sequence.strays, "row", "rows")));
  }
}

void put_changes(Page& page, const JudgeView& view, const judge::NodeVerdict& node) {
  if (!node.evidence.cadence || node.evidence.cadence->changes.empty()) return;
  const evidence::Cadence& cadence = *node.evidence.cadence;
  const evidence::IntervalChange& last = cadence.changes.back();
  std::string text =
      fmt::format("{}, {}: the interval changed from {} to {}", name_of(page, view, node.evidence),
                  local_time(last.at), duration_words(last.from), duration_words(last.to));
  const std::uint64_t before = cadence.changes.size() - 1 + cadence.earlier_changes;
  if (before > 0) text += fmt::format(" ({} before)", counted(before, "change", "changes"));
  page.item(text);
}

void put_seen(Page& page, const JudgeView& view) {
  const bool unicode = page.style().unicode;
  page.heading("Seen in the log");
  for (const std::string& phrase : internal::silence_phrases(view, nullptr, unicode)) {
    page.item(phrase);
  }
  for (const judge::NodeVerdict& node : view.verdict.nodes) {
    if (view.question.with_site && !node.listed) {
      page.item(fmt::format("{} is not in the roster: {}", name_of(page, view, node.evidence),
                            counted(node.evidence.heard.reports, "report", "reports")));
    }
    if (node.quiet) {
      page.item(fmt::format("{}: nothing since {}, {} due meanwhile",
                            name_of(page, view, node.evidence), local_time(node.quiet->since),
                            counted(node.quiet->beats, "report", "reports")));
    }
    put_breaks(page, view, node);
    put_changes(page, view, node);
    const evidence::Heard& heard = node.evidence.heard;
    if (heard.duplicates > heard.hearings / 5) {
      page.item(
          fmt::format("{}: {} of {} hearings are a report once more through the same receiver",
                      name_of(page, view, node.evidence), count_words(heard.duplicates),
                      count_words(heard.hearings)));
    }
    if (node.evidence.counter_shared) {
      page.item(
          fmt::format("{} numbers frames to several listeners with one counter: no losses are "
                      "told of it",
                      name_of(page, view, node.evidence)));
    }
    if (node.evidence.implausible_rows > 0) {
      page.item(fmt::format("{}: {} with a value that cannot be",
                            name_of(page, view, node.evidence),
                            counted(node.evidence.implausible_rows, "row", "rows")));
    }
  }
  for (const evidence::NodeEvidence& stranger : view.verdict.not_enrolled) {
    page.item(fmt::format("{} is not taken for a node: nothing but {} of values that cannot be",
                          name_of(page, view, stranger),
                          counted(stranger.heard.hearings, "row", "rows")));
  }
}

void put_rows(Page& page, const RunFacts& run) {
  page.heading("Rows");
  if (run.rows_outside > 0) {
    page.item(fmt::format("{} outside the time asked for",
                          counted(run.rows_outside, "row is", "rows are")));
  }
  for (const std::string& note : run.notes) page.item(page.safe(note));
  if (run.rows_skipped == 0) return;
  std::string reasons;
  for (const auto& [reason, count] : run.skipped_by_reason) {
    reasons += fmt::format("{}{} {}", reasons.empty() ? ": " : ", ", count_words(count), reason);
  }
  page.item(
      fmt::format("{} skipped{}", counted(run.rows_skipped, "row was", "rows were"), reasons));
  constexpr std::size_t kShown = 5;
  for (std::size_t i = 0; i < std::min(kShown, run.skipped.size()); ++i) {
    page.item(page.safe(run.skipped[i].complaint().text()));
  }
  if (run.rows_skipped > kShown) {
    page.item("--json quotes more of them");
  }
}

}  // namespace

std::string judge_text(const JudgeView& view, const TextStyle& style) {
  Page page{style};
  const Nodes nodes = worst_first(view.verdict);
  put_title(page, view, style);
  if (style.width < kNarrow) {
    put_stack(page, view, nodes);
  } else {
    put_table(page, view, nodes);
  }
  put_advice(page, view, nodes);
  put_seen(page, view);
  put_rows(page, view.run);
  if (!nodes.empty()) put_legend(page, view);
  return page.finish();
}

}  // namespace fieldfare::render
