// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "fieldfare/evidence/entry.h"

namespace fieldfare::evidence::internal {

/// Holds the latest hearings of a node until kReorderWindow later ones have come,
/// and gives them on in canonical order. Hearings that come in order cost no
/// comparison but one.
class ReorderWindow {
 public:
  static constexpr std::size_t kReorderWindow = 512;

  /// Takes an entry; the oldest comes out once the window is full. Returns false,
  /// and takes nothing, where a later entry than this has already gone on.
  bool push(const Entry& entry, std::optional<Entry>& out) {
    if (gone_on_ && entry < *gone_on_) return false;
    if (size_ == ring_.size() && size_ < kReorderWindow) grow();
    if (size_ == kReorderWindow) {
      // A newcomer older than all that wait goes straight through.
      if (entry < ring_[begin_]) {
        out = entry;
      } else {
        out = ring_[begin_];
        begin_ = (begin_ + 1) & (ring_.size() - 1);
        --size_;
        insert(entry);
      }
      gone_on_ = out;
    } else {
      insert(entry);
    }
    return true;
  }

  std::size_t size() const { return size_; }

  /// The i-th waiting entry, oldest first.
  const Entry& at(std::size_t i) const { return ring_[(begin_ + i) & (ring_.size() - 1)]; }

  template <class Archive>
  void visit(Archive& archive) {
    std::vector<Entry> waiting;
    if constexpr (!Archive::kReads) {
      for (std::size_t i = 0; i < size_; ++i) waiting.push_back(at(i));
    }
    archive(waiting, gone_on_);
    if constexpr (Archive::kReads) {
      ring_.clear();
      begin_ = size_ = 0;
      if (waiting.size() > kReorderWindow) return archive.fail();
      for (const Entry& entry : waiting) {
        if (size_ == ring_.size()) grow();
        insert(entry);
      }
    }
  }

 private:
  void grow() {
    std::vector<Entry> larger(ring_.empty() ? 16 : ring_.size() * 2);
    for (std::size_t i = 0; i < size_; ++i) larger[i] = at(i);
    ring_ = std::move(larger);
    begin_ = 0;
  }

  void insert(const Entry& entry) {
    const std::size_t mask = ring_.size() - 1;
    std::size_t place = (begin_ + size_) & mask;
    for (std::size_t i = size_; i > 0; --i) {
      const std::size_t before = (begin_ + i - 1) & mask;
      if (!(entry < ring_[before])) break;
      ring_[place] = ring_[before];
      place = before;
    }
    ring_[place] = entry;
    ++size_;
  }

  std::vector<Entry> ring_;  ///< its size is a power of two
  std::size_t begin_ = 0;
  std::size_t size_ = 0;
  std::optional<Entry> gone_on_;  ///< the latest that has gone on
};

}  // namespace fieldfare::evidence::internal
