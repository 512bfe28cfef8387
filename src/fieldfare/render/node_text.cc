// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "fieldfare/render/beat_line.h"
#include "fieldfare/render/internal/page.h"
#include "fieldfare/render/internal/phrases.h"
#include "fieldfare/render/judge_text.h"

namespace fieldfare::render {
namespace {

using internal::Page;

constexpr std::size_t kNameWidth = 10;

void put_head(Page& page, const JudgeView& view, const judge::NodeVerdict& node) {
  const fleet::NodeLabel& label = view.labels.label(node.evidence.node);
  std::string head = page.safe(label.name);
  if (label.address && label.address->text() != label.name) {
    head += fmt::format(", address {}", label.address->text());
  }
  if (view.question.with_site && !node.listed) head += ", not in the roster";
  page.line(page.bold(head));
  if (view.question.invented) page.sentence("This site is invented, and so is all of its data.");
}

void put_claims(Page& page, const judge::NodeVerdict& node) {
  page.heading("Claims");
  for (const judge::Verdict& verdict : node.verdicts) {
    std::string text = fmt::format("{}: {}", word_of(verdict.outcome), page.safe(verdict.why));
    if (verdict.needs) text += fmt::format("; needs {}", internal::needs_phrase(*verdict.needs));
    page.entry(word_of(verdict.claim), text, kNameWidth);
  }
  if (node.advice) page.entry("to do", page.safe(*node.advice), kNameWidth);
}

void put_beats(Page& page, const JudgeView& view, const judge::NodeVerdict& node) {
  page.heading("Last beats");
  // Two lines' worth: the older half above the newer one.
  const auto beats = beats_of(node, view.verdict.receiver_silences);
  const std::size_t width = page.style().width - 2;
  std::string drawn = beat_line(beats, 2 * width, page.style().unicode);
  drawn.erase(0, std::min(drawn.find_first_not_of(' '), drawn.size()));
  std::string line;
  std::size_t used = 0;
  for (const char c : drawn) {
    const bool begins = (static_cast<unsigned char>(c) & 0xC0) != 0x80;
    if (begins && used++ == width) {
      page.line("  " + line);
      line.clear();
      used = 1;
    }
    line += c;
  }
  page.line("  " + line);
  page.sentence(beat_legend(page.style().unicode));
}

void put_heard(Page& page, const evidence::NodeEvidence& node) {
  const evidence::Heard& heard = node.heard;
  page.heading("Evidence");
  page.entry("heard",
             fmt::format("{} in {}; {} through the same receiver, {} through further ones",
                         counted(heard.reports, "report", "reports"),
                         counted(heard.hearings, "hearing", "hearings"),
                         counted(heard.duplicates, "duplicate", "duplicates"),
                         count_words(heard.further_hearings)),
             kNameWidth);
  if (heard.first && heard.last) {
    page.entry("time",
               fmt::format("from {} to {}", local_time(*heard.first), local_time(*heard.last)),
               kNameWidth);
  }
  if (node.longest_gap) {
    page.entry("gap", fmt::format("the longest was {}", duration_words(*node.longest_gap)),
               kNameWidth);
  }
  if (node.implausible_rows > 0) {
    page.entry("doubtful",
               fmt::format("{} with a value that cannot be",
                           counted(node.implausible_rows, "row", "rows")),
               kNameWidth);
  }
}

void put_sequence(Page& page, const evidence::NodeEvidence& node) {
  if (node.counter_shared) {
    page.entry("counter",
               "one for several listeners: what is missing here may have gone to others, so no "
               "losses are told",
               kNameWidth);
  }
  if (!node.sequence) return;
  const evidence::Sequence& sequence = *node.sequence;
  page.entry(
      "counter",
      fmt::format("{} expected, {} missed, receiver silences included",
                  counted(sequence.expected, "report", "reports"), count_words(sequence.missed)),
      kNameWidth);
  if (sequence.strays > 0) {
    page.entry("strays",
               fmt::format("{} with a counter that cannot be; the run goes on",
                           counted(sequence.strays, "row", "rows")),
               kNameWidth);
  }
  if (sequence.earlier_breaks > 0) {
    page.entry("breaks", fmt::format("{} earlier ones", count_words(sequence.earlier_breaks)),
               kNameWidth);
  }
  for (const evidence::CounterBreak& at : sequence.breaks) {
    page.entry("break", internal::break_phrase(at), kNameWidth);
  }
}

/// As many decimals as show two digits of the interval's half width.
int decimals_of(const std::optional<evidence::Estimate>& estimate) {
  constexpr int kMost = 6;
  if (!estimate) return 2;
  const double half = (estimate->high - estimate->low) / 2;
  if (!(half > 0)) return kMost;
  return std::clamp(1 - static_cast<int>(std::floor(std::log10(half))), 0, kMost);
}

void put_cadence(Page& page, const std::optional<evidence::Cadence>& cadence) {
  if (!cadence) return;
  const int decimals = decimals_of(cadence->interval);
  std::string text = fmt::format("{:.{}f} s between sent reports", cadence->interval_s, decimals);
  if (cadence->interval) {
    text += fmt::format(" ({:.{}f} to {:.{}f}), jitter {}", cadence->interval->low, decimals,
                        cadence->interval->high, decimals,
                        duration_words(Duration::seconds(cadence->jitter_s)));
  }
  text += "; steady jitter and wander of the clock fitted together, since the last change";
  page.entry("cadence", text, kNameWidth);
  for (const evidence::IntervalChange& change : cadence->changes) {
    page.entry("change",
               fmt::format("{}: from {} to {}", local_time(change.at), duration_words(change.from),
                           duration_words(change.to)),
               kNameWidth);
  }
}

void put_delivery(Page& page, const judge::NodeVerdict& node) {
  if (!node.delivery) return;
  const judge::Delivery& delivery = *node.delivery;
  std::string text = fmt::format("{}: {} of {} heard, receiver silences left out",
                                 internal::delivery_phrase(node.delivery),
                                 count_words(delivery.heard), count_words(delivery.expected));
  if (delivery.mean_loss_run) {
    text += fmt::format("; {:.3g} lost in a row on average", *delivery.mean_loss_run);
  }
  text += fmt::format("; {:g} % interval from a two-state chain of good and bad",
                      delivery.confidence * 100);
  page.entry("delivery", text, kNameWidth);
}

void put_signal(Page& page, const judge::NodeVerdict& node) {
  if (node.margin) {
    std::string text = fmt::format("{:.1f} dBm, spread {:.1f} dB", node.margin->rssi_mean_dbm,
                                   node.margin->rssi_sd_db);
    if (node.margin->corrected_mean_dbm) {
      text += fmt::format("; {:.1f} dBm with the unheard reports reckoned in",
                          *node.margin->corrected_mean_dbm);
    }
    if (node.margin->margin_db) {
      text += fmt::format("; {:.1f} dB above the sensitivity", *node.margin->margin_db);
    }
    page.entry("signal", text, kNameWidth);
  }
  if (node.evidence.supply_last_v) {
    page.entry("supply", fmt::format("{:.3g} V last", *node.evidence.supply_last_v), kNameWidth);
  }
}

void put_links(Page& page, const JudgeView& view, const evidence::NodeEvidence& node) {
  page.heading("Receivers");
  std::size_t width = kNameWidth;
  for (const evidence::Link& link : node.links) {
    width = std::max(width, columns(page.safe(view.labels.receiver_name(link.receiver))));
  }
  for (const evidence::Link& link : node.links) {
    std::string text = fmt::format("{} from {} to {}", counted(link.reports, "report", "reports"),
                                   local_time(link.first), local_time(link.last));
    if (link.rssi_count > 0) text += fmt::format("; {:.1f} dBm", link.rssi_mean_dbm);
    if (link.rssi_count > 1) text += fmt::format(", spread {:.1f} dB", link.rssi_sd_db);
    page.entry(page.safe(view.labels.receiver_name(link.receiver)), text, width);
  }
  for (const std::string& phrase : internal::silence_phrases(view, &node, page.style().unicode)) {
    page.item(phrase);
  }
}

}  // namespace

std::string node_text(const JudgeView& view, const judge::NodeVerdict& node,
                      const TextStyle& style) {
  Page page{style};
  put_head(page, view, node);
  put_claims(page, node);
  put_beats(page, view, node);
  put_heard(page, node.evidence);
  put_sequence(page, node.evidence);
  put_cadence(page, node.evidence.cadence);
  put_delivery(page, node);
  put_signal(page, node);
  put_links(page, view, node.evidence);
  return page.finish();
}

}  // namespace fieldfare::render
