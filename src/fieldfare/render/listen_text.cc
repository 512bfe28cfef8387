// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "fieldfare/base/number_text.h"
#include "fieldfare/render/internal/page.h"
#include "fieldfare/render/listen_answer.h"

namespace fieldfare::render {
namespace {

using internal::Page;

/// ` (12 noise, 3 torn)`, or nothing.
std::string by_reason(const wire::StreamLedger::ByReason& counts) {
  std::string text;
  for (const auto& [reason, count] : counts) {
    text += text.empty() ? " (" : ", ";
    text += fmt::format("{} {}", count_words(count), reason);
  }
  return text.empty() ? text : text + ')';
}

std::string bytes_words(const wire::StreamLedger& ledger) {
  std::string text = fmt::format("{}: {} in frames", counted(ledger.bytes_fed, "byte", "bytes"),
                                 count_words(ledger.bytes_in_frames));
  if (ledger.bytes_lost > 0) {
    text += fmt::format(", {} in none{}", count_words(ledger.bytes_lost),
                        by_reason(ledger.lost_by_reason));
  }
  if (ledger.bytes_pending > 0) {
    text += fmt::format(", {} not whole yet", count_words(ledger.bytes_pending));
  }
  return text;
}

std::string frames_words(const wire::StreamLedger& ledger) {
  std::string text = fmt::format("{}: {} read", counted(ledger.frames, "frame", "frames"),
                                 count_words(ledger.frames_read));
  if (ledger.frames_unread > 0) {
    text += fmt::format(", {} could not be read{}", count_words(ledger.frames_unread),
                        by_reason(ledger.unread_by_reason));
  }
  if (ledger.frames_foreign > 0) {
    text += fmt::format(", {} of other networks, not kept", count_words(ledger.frames_foreign));
  }
  return text;
}

std::string reports_words(const wire::StreamLedger& ledger, std::uint64_t repeated) {
  std::string text = fmt::format("{}: {}", counted(ledger.reports, "report", "reports"),
                                 counted(ledger.hearings, "hearing", "hearings"));
  if (ledger.reports_refused > 0) {
    text += fmt::format(", {} refused", count_words(ledger.reports_refused));
  }
  if (repeated > 0) {
    text += fmt::format("; {} came again and {} left out", counted(repeated, "message", "messages"),
                        repeated == 1 ? "was" : "were");
  }
  return text;
}

void add_port(Page& page, const PortAnswer& port) {
  page.line(page.bold(page.safe(port.device)));
  std::string what = port.description;
  if (!port.manufacturer.empty())
    what += what.empty() ? port.manufacturer : ", by " + port.manufacturer;
  if (!port.serial_number.empty()) what += ", number " + port.serial_number;
  if (!port.usb_id.empty()) what += ", USB " + port.usb_id;
  if (!port.driver.empty()) what += ", driver " + port.driver;
  if (!what.empty()) page.item(page.safe(what));
  if (!port.stable_name.empty()) page.item("stays the same as " + page.safe(port.stable_name));
  if (!port.busy_by.empty()) page.item("in use by " + page.safe(port.busy_by));
  if (!port.may_open) page.item("you may not open it: your account lacks the right");
  if (!port.likeliest.empty()) page.item("likeliest: " + page.safe(port.likeliest));
}

}  // namespace

std::string listen_text(const ListenAnswer& answer, const TextStyle& style) {
  Page page{style};
  for (const SourceAnswer& source : answer.sources) {
    page.line(page.bold(page.safe(source.receiver)) + "  " + page.safe(source.endpoint));
    page.item(bytes_words(source.run));
    page.item(frames_words(source.run));
    page.item(reports_words(source.run, source.run_repeated));
    if (source.total.reports > source.run.reports) {
      page.item(fmt::format("in all listening so far: {}",
                            reports_words(source.total, source.total_repeated)));
    }
  }
  if (answer.stored > 0) {
    page.sentence(fmt::format(
        "{} stored, half of them within {:.0f} ms, 99 of 100 within {:.0f} ms.",
        counted(answer.stored, "hearing", "hearings"), answer.median_ms, answer.p99_ms));
  }
  if (answer.not_stored > 0) {
    page.sentence(
        fmt::format("{} could not be stored.", counted(answer.not_stored, "hearing", "hearings")));
  }
  return page.finish();
}

std::string hearing_line(const fleet::Hearing& hearing, const fleet::Labels& labels,
                         const TextStyle& style) {
  constexpr std::size_t kNameWidth = 20;
  constexpr std::size_t kReceiverWidth = 12;
  const auto safe = [&](std::string_view text) { return safe_text(text, style.unicode); };
  std::string line =
      local_time(hearing.time) + "  " +
      fit(safe(labels.label(hearing.node).name), kNameWidth, style.unicode) + "  " +
      fit(safe(labels.receiver_name(hearing.receiver)), kReceiverWidth, style.unicode);
  if (hearing.sequence) line += fmt::format("  no. {}", *hearing.sequence);
  if (hearing.rssi_dbm) line += fmt::format("  {} dBm", number_text(*hearing.rssi_dbm));
  if (hearing.snr_db) line += fmt::format("  SNR {} dB", number_text(*hearing.snr_db));
  if (hearing.supply_v) line += fmt::format("  {} V", number_text(*hearing.supply_v));
  for (const fleet::Reading& reading : hearing.readings) {
    line +=
        fmt::format("  {} {}", safe(labels.field_name(reading.field)), number_text(reading.value));
  }
  return line + '\n';
}

std::string ports_text(const std::vector<PortAnswer>& ports, const TextStyle& style) {
  Page page{style};
  if (ports.empty()) {
    page.sentence(
        "No serial port is there. Is the receiver plugged in, and does the cable carry data? "
        "If it stays so, the system has no driver for it: see what `dmesg` says when it is "
        "plugged in.");
    return page.finish();
  }
  std::string likeliest = ports.front().device;
  for (const PortAnswer& port : ports) {
    add_port(page, port);
    if (!port.likeliest.empty()) likeliest = port.device;
  }
  page.sentence("To begin, with nothing set up:");
  page.line("  fieldfare listen --port " + page.safe(likeliest));
  page.sentence(
      "For a site, give the port to a receiver in site.toml as its source, such as "
      "\"serial:///dev/ttyUSB0?baud=115200\", and then: fieldfare listen SITE");
  return page.finish();
}

}  // namespace fieldfare::render
