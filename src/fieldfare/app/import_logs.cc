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
    LogFile file{path, {}, false};
    wire::Ledger ledger;
    known_ = {};
    record_ = {};
    record_.name = path == "-" ? "standard input" : path;
    head_.clear();
    accepted_ = 0;
    if (request_.strict) {
      if (auto trouble = check_first(file)) return trouble;
    }
    fault_.reset();
    auto reading = read_log(
        file, labels_, ledger, [this](const fleet::Hearing& hearing) { take(hearing); },
        [this](std::string_view head) { recognise(head); });
    if (!reading) return reading.error();
    if (fault_) return machine(*fault_);
    return finish(*reading, ledger);
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
    if (ledger.rows_skipped() == 0) return std::nullopt;
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
    if (fault_ || ++accepted_ <= known_.rows_taken) return;
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

  /// With what was taken so far, so that an import that breaks off goes on
  /// from there.
  void commit() {
    record_.rows_taken = std::max(accepted_, known_.rows_taken);
    record_.rows_skipped = known_.rows_skipped;
    record_.bytes_taken = known_.bytes_taken;
    write_record({});
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

  std::optional<Trouble> finish(const LogReading& reading, const wire::Ledger& ledger) {
    // The end of a file that is being written is looked at again next time.
    const std::uint64_t skipped = ledger.rows_skipped() - reading.unfinished_rows;
    const std::uint64_t taken_before = std::min(known_.rows_taken, accepted_);
    const std::uint64_t skipped_before = std::min(known_.rows_skipped, skipped);
    record_.size_bytes = reading.text_bytes;
    record_.bytes_taken = reading.text_bytes;
    record_.rows_taken = std::max(accepted_, known_.rows_taken);
    record_.rows_skipped = std::max(skipped, known_.rows_skipped);
    const bool grown = record_.rows_taken > known_.rows_taken ||
                       record_.rows_skipped > known_.rows_skipped || known_.id == 0;
    if (grown) write_record(quotes(ledger, skipped_before, skipped));
    if (fault_) return machine(*fault_);

    outcome_.rows_read += ledger.rows_read();
    outcome_.rows_taken += accepted_ - taken_before;
    outcome_.rows_known += taken_before + skipped_before;
    outcome_.rows_skipped += ledger.rows_skipped() - skipped_before;
    for (const auto& [reason, count] : ledger.skipped_by_reason()) {
      outcome_.skipped_by_reason[reason] += count;
    }
    for (std::size_t i = skipped_before; i < ledger.quoted().size(); ++i) {
      outcome_.skipped.push_back(ledger.quoted()[i]);
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

  static std::vector<store::SkippedRow> quotes(const wire::Ledger& ledger, std::uint64_t from,
                                               std::uint64_t to) {
    std::vector<store::SkippedRow> rows;
    const auto end = std::min<std::uint64_t>(to, ledger.quoted().size());
    for (std::uint64_t i = from; i < end; ++i) {
      const wire::SkippedRow& row = ledger.quoted()[i];
      rows.push_back({row.place.line, row.what, row.excerpt});
    }
    return rows;
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
  std::uint64_t accepted_ = 0;  ///< rows of this file
  std::uint64_t rows_ = 0;      ///< of all files
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
