// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/phrases.h"

#include <fmt/core.h>

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

std::string silence_phrase(const JudgeView& view, const evidence::ReceiverSilence& silence,
                           bool unicode) {
  return fmt::format(
      "receiver {} heard nobody from {} to {} ({}): {}, {} missed; not charged to the nodes",
      safe_text(view.labels.receiver_name(silence.receiver), unicode), local_time(silence.from),
      local_time(silence.to), duration_words(silence.to - silence.from),
      counted(silence.nodes, "node", "nodes"), counted(silence.missed, "report", "reports"));
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
