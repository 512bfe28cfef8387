// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <vector>

#include "fieldfare/app/temp_file.h"
#include "fieldfare/evidence/entry.h"
#include "fieldfare/fleet/hearing.h"

namespace fieldfare::app {

/// A hearing of a node, packed.
struct NodeEntry {
  evidence::Entry entry;
  fleet::NodeIndex node{};
  std::uint32_t unused = 0;  ///< so that no byte of it is without a value
};
static_assert(sizeof(NodeEntry) == 40);

using EntrySink = std::function<void(fleet::NodeIndex, const evidence::Entry&)>;

/// Puts entries in order by node, then as Entry orders them, whatever their
/// number: sorted pieces go to a temporary file and are merged.
class ExternalSort {
 public:
  /// 2 Mi entries, 80 MiB.
  static constexpr std::size_t kMostInMemory = std::size_t{1} << 21;

  explicit ExternalSort(std::size_t most_in_memory = kMostInMemory)
      : most_in_memory_{most_in_memory} {}

  /// False where the temporary file can't be written.
  [[nodiscard]] bool add(fleet::NodeIndex node, const evidence::Entry& entry);

  /// Gives all entries in order and forgets them; false where the temporary
  /// file failed, and the order then ended early.
  [[nodiscard]] bool drain(const EntrySink& sink);

 private:
  struct Piece {
    std::uint64_t offset;
    std::uint64_t entries;
  };

  [[nodiscard]] bool spill();
  [[nodiscard]] bool merge(const EntrySink& sink);
  void sort_memory();

  std::size_t most_in_memory_;
  std::vector<NodeEntry> memory_;
  std::vector<Piece> pieces_;
  TempFile file_;
};

/// Entries as they came, to be gone through again: what a pipe needs, which
/// can't be read a second time.
class EntrySpool {
 public:
  [[nodiscard]] bool add(fleet::NodeIndex node, const evidence::Entry& entry);
  [[nodiscard]] bool for_each(const EntrySink& sink);

 private:
  [[nodiscard]] bool flush();

  std::vector<NodeEntry> pending_;
  TempFile file_;
};

}  // namespace fieldfare::app
