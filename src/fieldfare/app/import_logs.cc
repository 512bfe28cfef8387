// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/import_logs.h"

#include <algorithm>
#include <filesystem>
#include <optional>
#include <utility>

#include "fieldfare/app/log_reader.h"
#include "fieldfare/app/site_facts.h"
#include "fieldfare/store/writer.h"

namespace fieldfare::app {
namespace {

constexpr std::size_t kRowsPerCommit = 50'000;
constexpr std::uint64_t kRowsBetweenProgress = 1 << 20;
static_assert(kHeadBytes == store::Import::kHeadBytes);

/// Takes one site's logs into its store, log by log.
class Importer {
 public:
  Importer(const ImportRequest& request, const fleet::Site& site, store::Store& store)
      : request_{request}, site_{site}, store_{store}, writer_{store} {}
  ~Importer() = default;
  Importer(const Importer&) = delete;
  Importer& operator=(const Importer&) = delete;

  std::optional<Trouble> begin() {
    SiteFacts{&site_, {}}.enter_roster(labels_);
    if (auto loaded = store_.load_labels(labels_); !loaded) return machine(loaded.error());
    for (const fleet::NodeSheet& sheet : site_.node_sheets) {
      auto index = writer_.sheet(sheet.head.name);
      if (!index) return machine(index.error());
      sheets_.push_back(*index);
    }
    return std::nullopt;
  }

  std::optional<Trouble> take(const std::string& path) {
    LogFile file{path, {}, false, SiteFacts{&site_, {}}.sieve(request_.keep_foreign)};
    ledger_ = wire::Ledger{};
    known_ = {};
    record_ = {};
    record_.name = path == "-" ? "standard input" : path;
    head_.clear();
    stored_ = 0;
    if (request_.strict) {
      if (auto trouble = check_first(file)) return trouble;
    }
    fault_.reset();
    auto reading = read_log(
        file, labels_, ledger_, [this](const fleet::Hearing& hearing) { take(hearing); },
        [this](std::string_view head) { recognise(head); });
    if (!reading) return reading.error();
    if (fault_) return machine(*fault_);
    return finish(*reading);
  }

  ImportOutcome outcome() { return std::move(outcome_); }

 private:
  static Trouble machine(const Complaint& complaint) { return {Blame::machine, {complaint}}; }

  /// With --strict the whole log is read before anything of it is stored.
  static std::optional<Trouble> check_first(LogFile& file) {
    if (file.path == "-") return std::nullopt;
    fleet::Labels scratch;
    wire::Ledger ledger{1};
    auto reading = read_log(file, scratch, ledger, [](const fleet::Hearing&) {});
    if (!reading) return reading.error();
    if (reading->torn) return Trouble{Blame::input, {*reading->torn}};
    if (ledger.rows_unreadable() == 0) return std::nullopt;
    return Trouble{Blame::input, {ledger.quoted().front().complaint()}};
  }

  void recognise(std::string_view head) {
    head_ = head;
    auto found = store_.find_import(head);
    if (!found) {
      fault_ = found.error();
    } else if (*found) {
      known_ = **found;
    }
  }

  void take(const fleet::Hearing& hearing) {
    if (request_.progress && ++rows_ % kRowsBetweenProgress == 0) request_.progress(rows_);
    // The ledger has this row already.
    if (fault_ || ledger_.rows_read() <= known_rows()) return;
    ++stored_;
    if (auto taken = writer_.append(hearing, labels_, sheet_of(hearing.node)); !taken) {
      fault_ = taken.error();
    } else if (writer_.pending() >= kRowsPerCommit) {
      commit();
    }
  }

  store::SheetIndex sheet_of(fleet::NodeIndex node) const {
    const auto at = static_cast<std::size_t>(node);
    if (at >= site_.nodes.size() || !site_.nodes[at].sheet) return store::Writer::kUnsheeted;
    return sheets_[*site_.nodes[at].sheet];
  }

  /// Rows of the file that an earlier import saw, whether it took them or not: what
  /// it left out then stays out, whatever the roster says by now.
  std::uint64_t known_rows() const { return known_.rows_taken + known_.rows_skipped; }

  /// Of `rows` of the file, known ones among them.
  void count_rows(std::uint64_t rows) {
    record_.rows_taken = known_.rows_taken + stored_;
    record_.rows_skipped = std::max(rows, known_rows()) - record_.rows_taken;
  }

  /// With what was taken so far, so that an import that breaks off goes on
  /// from there.
  void commit() {
    count_rows(ledger_.rows_read());
    record_.bytes_taken = known_.bytes_taken;
    write_record(quotes(ledger_.rows_read()));
  }

  void write_record(std::vector<store::SkippedRow> skipped) {
    record_.id = known_.id;
    record_.at = request_.now;
    writer_.record(record_, head_, std::move(skipped));
    const auto committed = writer_.commit(labels_);
    if (!committed) {
      fault_ = committed.error();
      return;
    }
    known_.id = committed->import_id;
  }

  std::optional<Trouble> finish(const LogReading& reading) {
    // The end of a file that is being written is looked at again next time.
    const std::uint64_t rows = ledger_.rows_read() - reading.unfinished_rows;
    record_.size_bytes = reading.text_bytes;
    record_.bytes_taken = reading.text_bytes;
    count_rows(rows);
    if (rows > known_rows() || known_.id == 0) write_record(quotes(rows));
    if (fault_) return machine(*fault_);

    const std::uint64_t known = std::min(known_rows(), ledger_.rows_read());
    outcome_.rows_read += ledger_.rows_read();
    outcome_.rows_taken += stored_;
    outcome_.rows_known += known;
    outcome_.rows_skipped += ledger_.rows_read() - known - stored_;
    for (const auto& [reason, count] : ledger_.skipped_by_reason()) {
      outcome_.skipped_by_reason[reason] += count;
    }
    for (const wire::SkippedRow& row : ledger_.quoted()) {
      if (row.rows_before >= known) outcome_.skipped.push_back(row);
    }
    add_notes(reading);
    return std::nullopt;
  }

  void add_notes(const LogReading& reading) {
    if (reading.torn) outcome_.notes.push_back(reading.torn->text());
    if (reading.unfinished_rows > 0) {
      outcome_.notes.push_back(record_.name +
                               ": the last row has no end yet; the next import looks at it again");
    }
    for (const Complaint& note : reading.notes) outcome_.notes.push_back(note.text());
  }

  /// The rows skipped among the first `rows`, but for known ones.
  std::vector<store::SkippedRow> quotes(std::uint64_t rows) const {
    std::vector<store::SkippedRow> quoted;
    for (const wire::SkippedRow& row : ledger_.quoted()) {
      if (row.rows_before < known_rows() || row.rows_before >= rows) continue;
      quoted.push_back({row.place.line, row.what, row.excerpt});
    }
    return quoted;
  }

  const ImportRequest& request_;
  const fleet::Site& site_;
  store::Store& store_;
  fleet::Labels labels_;
  store::Writer writer_;
  std::vector<store::SheetIndex> sheets_;

  store::Import known_;   ///< what an earlier import took of the file at hand
  store::Import record_;  ///< what this one took
  std::string head_;
  wire::Ledger ledger_;       ///< of this file
  std::uint64_t stored_ = 0;  ///< rows of this file, now
  std::uint64_t rows_ = 0;    ///< of all files
  std::optional<Complaint> fault_;
  ImportOutcome outcome_;
};

}  // namespace

std::string store_path(const std::string& folder) {
  return (std::filesystem::path{folder} / "fieldfare.db").string();
}

Result<ImportOutcome, Trouble> import_logs(const ImportRequest& request, const fleet::Site& site) {
  auto store = store::Store::open(store_path(request.folder), store::Mode::write);
  if (!store) return machine_trouble(store.error());
  Importer importer{request, site, *store};
  if (auto trouble = importer.begin()) return Failure{std::move(*trouble)};
  for (const std::string& path : request.logs) {
    if (auto trouble = importer.take(path)) return Failure{std::move(*trouble)};
  }
  return importer.outcome();
}

}  // namespace fieldfare::app
