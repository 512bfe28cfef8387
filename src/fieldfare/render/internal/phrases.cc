// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/phrases.h"

#include <fmt/core.h>

#include <algorithm>
#include <cstdint>
#include <map>
#include <span>
#include <string_view>

#include "fieldfare/render/words.h"

namespace fieldfare::render::internal {

std::string delivery_phrase(const std::optional<judge::Delivery>& delivery) {
  if (!delivery) return "-";
  return share_words(delivery->ratio, delivery->low, delivery->high);
}

std::string interval_phrase(const std::optional<evidence::Cadence>& cadence) {
  if (!cadence || cadence->interval_s <= 0) return "-";
  return duration_words(Duration::seconds(cadence->interval_s));
}

std::string signal_phrase(const judge::NodeVerdict& node) {
  if (!node.margin) return "-";
  const double mean = node.margin->corrected_mean_dbm.value_or(node.margin->rssi_mean_dbm);
  std::string phrase = fmt::format("{:.0f} dBm", mean);
  if (node.margin->margin_db) phrase += fmt::format(", margin {:.0f} dB", *node.margin->margin_db);
  return phrase;
}

std::string needs_phrase(const judge::Needs& needs) {
  std::string phrase = counted(needs.reports, "more report", "more reports");
  if (needs.seconds) {
    phrase += fmt::format(", about {}", duration_words(Duration::seconds(*needs.seconds)));
  }
  return phrase;
}

namespace {

/// Known deafness of a receiver beyond this is told in one sentence.
constexpr std::size_t kMostTold = 3;

std::string silence_phrase(const JudgeView& view, const evidence::ReceiverSilence& silence,
                           bool unicode) {
  const std::string receiver = safe_text(view.labels.receiver_name(silence.receiver), unicode);
  return fmt::format(
      "{} from {} to {} ({}): {}, {} missed; not charged to the nodes",
      silence.listening ? fmt::format("receiver {} heard nobody", receiver)
                        : fmt::format("not listening to receiver {}", receiver),
      local_time(silence.from), local_time(silence.to), duration_words(silence.to - silence.from),
      counted(silence.nodes, "node", "nodes"), counted(silence.missed, "report", "reports"));
}

std::string deafness_phrase(const JudgeView& view,
                            std::span<const evidence::ReceiverSilence* const> silences,
                            bool unicode) {
  Duration sum{};
  std::uint64_t missed = 0;
  for (const evidence::ReceiverSilence* silence : silences) {
    sum = sum + (silence->to - silence->from);
    missed += silence->missed;
  }
  return fmt::format(
      "not listening to receiver {} {} times from {} to {} ({} in all): {} missed; not charged to "
      "the nodes",
      safe_text(view.labels.receiver_name(silences.front()->receiver), unicode), silences.size(),
      local_time(silences.front()->from), local_time(silences.back()->to), duration_words(sum),
      counted(missed, "report", "reports"));
}

}  // namespace

std::vector<std::string> silence_phrases(const JudgeView& view, const evidence::NodeEvidence* node,
                                         bool unicode) {
  std::vector<std::string> phrases;
  std::map<std::string_view, std::vector<const evidence::ReceiverSilence*>> deaf;
  for (const evidence::ReceiverSilence& silence : view.verdict.receiver_silences) {
    const bool told = !node || std::any_of(node->links.begin(), node->links.end(),
                                           [&](const evidence::Link& link) {
                                             return link.receiver == silence.receiver;
                                           });
    if (!told) continue;
    if (silence.listening) {
      phrases.push_back(silence_phrase(view, silence, unicode));
    } else {
      deaf[view.labels.receiver_name(silence.receiver)].push_back(&silence);
    }
  }
  for (const auto& [receiver, silences] : deaf) {
    if (silences.size() > kMostTold) {
      phrases.push_back(deafness_phrase(view, silences, unicode));
      continue;
    }
    for (const evidence::ReceiverSilence* silence : silences) {
      phrases.push_back(silence_phrase(view, *silence, unicode));
    }
  }
  return phrases;
}

std::string break_phrase(const evidence::CounterBreak& at) {
  const std::string time = local_time(at.at);
  switch (at.kind) {
    case evidence::BreakKind::reset:
      return fmt::format("{}: the counter began anew (reset)", time);
    case evidence::BreakKind::jump:
      return fmt::format("{}: the counter ran ahead of the clock and went on from there (jump)",
                         time);
    case evidence::BreakKind::stood_still:
      return fmt::format(
          "{}: came back after {} with the counter where it was; the node slept, or its clock was "
          "not set before, and nothing was lost on the air meanwhile",
          time, duration_words(at.silent));
  }
  return time;
}

}  // namespace fieldfare::render::internal
