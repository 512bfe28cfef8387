// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/external_sort.h"

#include <algorithm>
#include <queue>
#include <span>

namespace fieldfare::app {
namespace {

constexpr std::size_t kBlock = 4096;  ///< entries read or written at once

bool comes_before(const NodeEntry& a, const NodeEntry& b) {
  if (a.node != b.node) return a.node < b.node;
  return a.entry < b.entry;
}

/// Reads the entries of a stretch of the file one after the other.
class EntryReader {
 public:
  EntryReader(const TempFile& file, std::uint64_t offset, std::uint64_t entries)
      : file_{file}, offset_{offset}, left_{entries} {}

  /// The next entry, or nullptr at the end and where reading failed.
  const NodeEntry* next() {
    if (at_ == block_.size() && !fill()) return nullptr;
    return &block_[at_++];
  }
  bool failed() const { return failed_; }

 private:
  bool fill() {
    if (left_ == 0 || failed_) return false;
    block_.resize(std::min<std::uint64_t>(kBlock, left_));
    const auto bytes = std::as_writable_bytes(std::span{block_});
    failed_ = !file_.read_at(offset_, bytes);
    offset_ += bytes.size();
    left_ -= block_.size();
    at_ = 0;
    return !failed_;
  }

  const TempFile& file_;
  std::uint64_t offset_;
  std::uint64_t left_;
  std::vector<NodeEntry> block_;
  std::size_t at_ = 0;
  bool failed_ = false;
};

}  // namespace

bool ExternalSort::add(fleet::NodeIndex node, const evidence::Entry& entry) {
  memory_.push_back({entry, node});
  return memory_.size() < most_in_memory_ || spill();
}

void ExternalSort::sort_memory() { std::sort(memory_.begin(), memory_.end(), comes_before); }

bool ExternalSort::spill() {
  sort_memory();
  pieces_.push_back({file_.size(), memory_.size()});
  const bool written = file_.append(std::as_bytes(std::span{memory_}));
  memory_.clear();
  return written;
}

bool ExternalSort::drain(const EntrySink& sink) {
  if (!pieces_.empty()) return (memory_.empty() || spill()) && merge(sink);
  sort_memory();
  for (const NodeEntry& entry : memory_) sink(entry.node, entry.entry);
  memory_.clear();
  return true;
}

bool ExternalSort::merge(const EntrySink& sink) {
  struct Head {
    NodeEntry entry;
    std::size_t piece;
  };
  const auto later = [](const Head& a, const Head& b) { return comes_before(b.entry, a.entry); };
  std::priority_queue<Head, std::vector<Head>, decltype(later)> heads{later};
  std::vector<EntryReader> readers;
  readers.reserve(pieces_.size());
  const auto advance = [&](std::size_t piece) {
    if (const NodeEntry* next = readers[piece].next()) heads.push({*next, piece});
    return !readers[piece].failed();
  };

  for (const Piece& piece : pieces_) {
    readers.emplace_back(file_, piece.offset, piece.entries);
    if (!advance(readers.size() - 1)) return false;
  }
  while (!heads.empty()) {
    const Head head = heads.top();
    heads.pop();
    sink(head.entry.node, head.entry.entry);
    if (!advance(head.piece)) return false;
  }
  pieces_.clear();
  return true;
}

bool EntrySpool::add(fleet::NodeIndex node, const evidence::Entry& entry) {
  pending_.push_back({entry, node});
  return pending_.size() < kBlock || flush();
}

bool EntrySpool::flush() {
  const bool written = file_.append(std::as_bytes(std::span{pending_}));
  pending_.clear();
  return written;
}

bool EntrySpool::for_each(const EntrySink& sink) {
  if (!flush()) return false;
  EntryReader reader{file_, 0, file_.size() / sizeof(NodeEntry)};
  while (const NodeEntry* entry = reader.next()) sink(entry->node, entry->entry);
  return !reader.failed();
}

}  // namespace fieldfare::app
