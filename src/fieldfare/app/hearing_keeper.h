// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "fieldfare/app/inlet.h"
#include "fieldfare/fleet/site.h"
#include "fieldfare/store/store.h"
#include "fieldfare/store/writer.h"

namespace fieldfare::app {

/// Keeps what inlets hear in the store of a site, many hearings a commit.
class HearingKeeper {
 public:
  /// Frames that could not be read and are kept, of one source in a second. A flood of
  /// them is counted, and the disk spared.
  static constexpr std::size_t kMostUnreadPerSecond = 20;
  /// More than this waits to be stored: nothing further is to be appended.
  static constexpr std::size_t kHighWater = 150'000;
  static_assert(kHighWater < store::Writer::kMostPending);

  HearingKeeper(store::Store& store, const fleet::Site& site, fleet::Labels& labels)
      : store_{store}, site_{site}, labels_{labels}, writer_{store} {}

  /// Loads what the store knows: names, and for each inlet its marks and totals.
  store::Outcome begin(std::span<Inlet> inlets);

  /// Collects a hearing of the kind `tag` says, where no roster says another.
  store::Outcome append(const fleet::Hearing& hearing, std::optional<std::uint32_t> tag,
                        const Inlet& inlet);
  void keep_unread(const wire::Unread& unread, const Inlet& inlet);
  /// A stretch of listening that is over.
  void listened(const Inlet& inlet, const Awake& stretch);

  std::size_t pending() const { return writer_.pending(); }
  bool is_full() const { return writer_.pending() >= kHighWater; }

  /// Stores all that was collected, with each inlet's marks, totals and listening.
  /// A complaint means that it is all still collected.
  store::Outcome commit(std::span<Inlet> inlets, Instant now);

 private:
  store::SheetIndex sheet_of(fleet::NodeIndex node, std::optional<std::uint32_t> tag) const;

  store::Store& store_;
  const fleet::Site& site_;
  fleet::Labels& labels_;
  store::Writer writer_;
  std::vector<store::SheetIndex> sheets_;   ///< by index in the site
  std::vector<const Inlet*> came_through_;  ///< by receiver: the inlet it was last heard by
  struct KeptUnread {
    const Inlet* inlet = nullptr;
    std::int64_t second = 0;
    std::size_t frames = 0;
  };
  std::vector<KeptUnread> unread_;
};

}  // namespace fieldfare::app
