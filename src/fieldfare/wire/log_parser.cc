// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/log_parser.h"

#include <utility>

#include "fieldfare/wire/internal/csv_rows.h"
#include "fieldfare/wire/internal/json_rows.h"
#include "fieldfare/wire/internal/row_log.h"

namespace fieldfare::wire {

class LogParser::Impl {
 public:
  Impl(LogOptions options, fleet::Labels& labels, Ledger& ledger)
      : format_{options.format},
        labels_{labels},
        log_{std::move(options.file_name), std::move(options.receiver), ledger} {}

  void feed(std::string_view bytes, const HearingSink& sink) {
    while (!bytes.empty() && !log_.fatal()) {
      if (kept_.empty()) {
        kept_ = bytes.substr(take(bytes, false, sink));
        return;
      }
      const std::string_view piece = bytes.substr(0, size_to_keep(bytes));
      bytes.remove_prefix(piece.size());
      kept_ += piece;
      if (piece.find('\n') != std::string_view::npos || kept_.size() > kLongestRow) {
        kept_.erase(0, take(kept_, false, sink));
      }
    }
  }

  void finish(const HearingSink& sink) {
    if (log_.fatal()) return;
    kept_.erase(0, take(kept_, true, sink));
    if (reader_ == nullptr && !log_.fatal()) {
      log_.give_up(0, "the log is empty",
                   "a header row that names at least `time` and `node`, or JSON Lines");
    }
  }

  const RowLog& log() const { return log_; }
  std::size_t pending() const { return kept_.size(); }

 private:
  /// How many bytes to put behind those kept: to the end of the line, so that the
  /// next one can be read where it lies. Where a quote holds several lines open,
  /// as many as a row can have, as each try looks at all of them again.
  std::size_t size_to_keep(std::string_view bytes) const {
    const std::string_view most = bytes.substr(0, kLongestRow);
    const bool several_lines = kept_.find('\n') != std::string::npos;
    const std::size_t end = several_lines ? std::string_view::npos : most.find('\n');
    return end == std::string_view::npos ? most.size() : end + 1;
  }

  std::size_t take(std::string_view window, bool last, const HearingSink& sink) {
    std::size_t taken = 0;
    if (reader_ == nullptr) {
      taken = begin(window, last);
      if (reader_ == nullptr) return taken;
    }
    return taken + reader_->take(window.substr(taken), last, sink);
  }

  /// Passes over a byte order mark and blank lines, and makes the reader as soon
  /// as the first byte that means something is seen.
  std::size_t begin(std::string_view window, bool last) {
    std::size_t at = 0;
    if (at_beginning_) {
      const std::string_view front = window.substr(0, kByteOrderMark.size());
      if (front.size() < kByteOrderMark.size() && kByteOrderMark.starts_with(front) && !last) {
        return 0;
      }
      if (front == kByteOrderMark) at = front.size();
      at_beginning_ = window.empty();
    }
    for (; at < window.size(); ++at) {
      const char c = window[at];
      if (c == '\n') log_.next_lines(1);
      if (c != ' ' && c != '\t' && c != '\r' && c != '\n') {
        make_reader(c);
        break;
      }
    }
    return at;
  }

  void make_reader(char first) {
    if (!format_) format_ = first == '{' ? LogFormat::json_lines : LogFormat::csv;
    if (*format_ == LogFormat::csv) {
      reader_ = std::make_unique<CsvRows>(labels_, log_);
    } else {
      reader_ = std::make_unique<JsonRows>(labels_, log_);
    }
  }

  std::optional<LogFormat> format_;
  fleet::Labels& labels_;
  RowLog log_;
  std::unique_ptr<RowReader> reader_;  ///< null until the first byte that is no blank
  std::string kept_;                   ///< bytes of a row that is not yet whole
  bool at_beginning_ = true;
};

LogParser::LogParser(LogOptions options, fleet::Labels& labels, Ledger& ledger)
    : impl_{std::make_unique<Impl>(std::move(options), labels, ledger)} {}
LogParser::~LogParser() = default;
LogParser::LogParser(LogParser&&) noexcept = default;
LogParser& LogParser::operator=(LogParser&&) noexcept = default;

void LogParser::feed(std::string_view bytes, const HearingSink& sink) { impl_->feed(bytes, sink); }
void LogParser::finish(const HearingSink& sink) { impl_->finish(sink); }
std::size_t LogParser::pending() const { return impl_->pending(); }
const std::optional<Complaint>& LogParser::fatal() const { return impl_->log().fatal(); }
const std::vector<Complaint>& LogParser::notes() const { return impl_->log().notes(); }

}  // namespace fieldfare::wire
