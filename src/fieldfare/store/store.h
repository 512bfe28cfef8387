// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/store/records.h"

namespace fieldfare::store {

enum class Mode : std::uint8_t {
  read,   ///< an existing file
  write,  ///< made where absent, and brought up to this program's schema
};

struct Options {
  Duration patience = Duration::seconds(5);  ///< wait for another program that writes
  std::uint64_t most_bytes = 0;              ///< the file grows no larger; 0: as the disk allows
};

/// Which hearings a scan hands over.
struct Scan {
  std::int64_t after_arrival = 0;
  std::int64_t up_to_arrival = std::numeric_limits<std::int64_t>::max();
  bool with_readings = false;
  std::span<const fleet::NodeIndex> nodes{};  ///< empty: all
};

/// The storage of a site, one SQLite file described in docs/formats/store.md.
///
/// Any number of programs read it while one writes; a second one that writes
/// waits for the first one's commit. What was committed survives a crash of the
/// program and of the machine.
///
/// A Store is used by one thread at a time, and so is what was made from it. It
/// speaks the indexes of one fleet::Labels: the same object, outliving it, is to
/// be given to every call.
class Store {
 public:
  struct Impl;

  static Result<Store, Complaint> open(const std::filesystem::path& file, Mode mode,
                                       Options options = {});
  ~Store();
  Store(Store&&) noexcept;
  Store& operator=(Store&&) noexcept;
  Store(const Store&) = delete;
  Store& operator=(const Store&) = delete;

  /// Enters every node and receiver that the store knows into `labels`, listed
  /// nodes as listed. A roster read from elsewhere goes in before.
  Outcome load_labels(fleet::Labels& labels);

  /// Keeps every node and receiver of `labels`, heard or not.
  Outcome save_labels(const fleet::Labels& labels);

  /// Hands over what came in after `scan.after_arrival`, as of this moment, and
  /// returns the last arrival, from which the next scan can go on. Each node's
  /// hearings come in the order of their arrival; those of different nodes may
  /// change places among neighbours. `take` must not use this store.
  using Take = std::function<void(const StoredHearing&)>;
  Result<std::int64_t, Complaint> scan(const Scan& scan, fleet::Labels& labels, const Take& take);

  /// All hearings of one node, in the order of their arrival.
  Result<std::int64_t, Complaint> scan_node(fleet::NodeIndex node, fleet::Labels& labels,
                                            const Take& take);

  /// Keeps checkpoints, each in place of the one before, all or none. Their nodes
  /// have hearings in this store.
  Outcome save_checkpoints(std::span<const Checkpoint> checkpoints, fleet::Labels& labels);

  /// Those kept, in no order that means anything. The checkpoint of a node that
  /// the roster has meanwhile found to be two, or one with another, is left out.
  Result<std::vector<Checkpoint>, Complaint> load_checkpoints(fleet::Labels& labels);

  /// Adds to the history; returns the event's id. Its own `id` is ignored.
  Result<std::int64_t, Complaint> record_event(const RosterEvent& event,
                                               const fleet::Labels& labels);
  /// The history in the order it was recorded, of one node or (nothing) of all.
  Result<std::vector<RosterEvent>, Complaint> roster_history(
      fleet::Labels& labels, std::optional<fleet::NodeIndex> node = std::nullopt);

  /// The import that a file continues or repeats, if any. `head`: its first
  /// Import::kHeadBytes, or all of it where it is shorter.
  Result<std::optional<Import>, Complaint> find_import(std::string_view head);
  Result<std::vector<SkippedRow>, Complaint> skipped_rows(std::int64_t import_id);

  /// When the sources were listened to: by source, each one's by their beginning.
  Result<std::vector<Listening>, Complaint> listening();
  /// What was remembered last; empty for a source never heard of.
  Result<std::vector<std::uint64_t>, Complaint> marks(std::string_view source);
  Result<std::vector<SourceTotals>, Complaint> source_totals();
  /// The newest, at most `most`, oldest first.
  Result<std::vector<UnreadFrame>, Complaint> unread(std::string_view source, std::size_t most);
  /// Receivers whose hearings came through a source, in order of their names.
  Result<std::vector<ReceiverSource>, Complaint> receiver_sources();

 private:
  friend class Writer;
  explicit Store(std::unique_ptr<Impl> impl);

  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::store
