// SPDX-License-Identifier: Apache-2.0
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "fieldfare/wire/internal/stream_reader.h"
#include "fieldfare/wire/log_parser.h"

namespace fieldfare::wire {
namespace {

std::string_view as_text(std::span<const std::uint8_t> octets) {
  return {reinterpret_cast<const char*>(octets.data()), octets.size()};
}

std::span<const std::uint8_t> as_octets(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

/// Rows of a log as they come in. A message holds one or more rows of JSON Lines.
class RowStream : public StreamReader {
 public:
  RowStream(const DecoderOptions& options, fleet::Labels& labels, StreamLedger& ledger)
      : options_{options}, labels_{labels}, ledger_{ledger} {}

  void feed(std::span<const std::uint8_t> octets, Instant arrived, HearingStream& out) override {
    if (octets.empty()) return;
    if (!stream_) stream_.emplace(parser_options(std::nullopt), labels_, rows_);
    ledger_.bytes_fed += octets.size();
    ledger_.bytes_pending += octets.size();
    stream_->feed(as_text(octets), sink({arrived}, out));
    count_rows(arrived, out);
    if (stream_->fatal()) {
      give_up(*stream_, arrived, octets, out);
      ledger_.bytes_lost += std::exchange(ledger_.bytes_pending, 0);
      stream_.reset();
    } else {
      ledger_.bytes_in_frames += ledger_.bytes_pending - stream_->pending();
      ledger_.bytes_pending = stream_->pending();
    }
  }

  void message(std::span<const std::uint8_t> octets, const Delivery& delivery,
               HearingStream& out) override {
    if (!messages_) messages_.emplace(parser_options(LogFormat::json_lines), labels_, rows_);
    messages_->feed(as_text(octets), sink(delivery, out));
    // A message ends here, whatever its last row looks like.
    messages_->feed("\n", sink(delivery, out));
    count_rows(delivery.at, out);
    ledger_.bytes_fed += octets.size();
    ledger_.bytes_in_frames += octets.size();
  }

  void resume(std::span<const std::uint8_t> first_line) override {
    // A row of JSON Lines says its keys itself, and was taken before.
    if (stream_ || first_line.empty() || first_line.front() == '{') return;
    stream_.emplace(parser_options(LogFormat::csv), labels_, rows_);
    stream_->feed(as_text(first_line), [](const fleet::Hearing&) {});
    rows_ = Ledger{};
  }

  void finish(Instant at, HearingStream& out) override {
    if (!stream_) return;
    stream_->finish(sink({at}, out));
    count_rows(at, out);
    ledger_.bytes_in_frames += std::exchange(ledger_.bytes_pending, 0);
    stream_.reset();
  }

 private:
  LogOptions parser_options(std::optional<LogFormat> format) const {
    return {options_.source, format, options_.receiver};
  }

  static HearingSink sink(const Delivery& delivery, HearingStream& out) {
    return [delivery, &out](const fleet::Hearing& row) {
      fleet::Hearing hearing = row;
      if (!hearing.arrived_at && delivery.at > hearing.time) hearing.arrived_at = delivery.at;
      out.hearing(hearing, std::nullopt);
    };
  }

  void give_up(const LogParser& parser, Instant at, std::span<const std::uint8_t> octets,
               HearingStream& out) {
    ++ledger_.lost_by_reason["no-log"];
    out.unread({at, "no-log", parser.fatal()->text(), octets, octets.size()});
  }

  /// Moves what the rows' own ledger has gathered to ours, and tells what was skipped.
  void count_rows(Instant at, HearingStream& out) {
    ledger_.frames += rows_.rows_read();
    ledger_.frames_read += rows_.rows_accepted();
    ledger_.frames_unread += rows_.rows_skipped();
    ledger_.reports += rows_.rows_accepted();
    ledger_.hearings += rows_.rows_accepted();
    for (const auto& [reason, count] : rows_.skipped_by_reason()) {
      ledger_.unread_by_reason[reason] += count;
    }
    for (const SkippedRow& row : rows_.quoted()) {
      out.unread({at, row.reason_code, row.complaint().text(), as_octets(row.excerpt),
                  row.excerpt.size()});
    }
    rows_ = Ledger{};
  }

  DecoderOptions options_;
  fleet::Labels& labels_;
  StreamLedger& ledger_;
  Ledger rows_;
  std::optional<LogParser> stream_;
  std::optional<LogParser> messages_;
};

}  // namespace

std::unique_ptr<StreamReader> make_row_reader(const DecoderOptions& options, fleet::Labels& labels,
                                              StreamLedger& ledger) {
  return std::make_unique<RowStream>(options, labels, ledger);
}

}  // namespace fieldfare::wire
