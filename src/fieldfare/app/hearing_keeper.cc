// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/hearing_keeper.h"

#include <algorithm>
#include <string>

namespace fieldfare::app {

store::Outcome HearingKeeper::begin(std::span<Inlet> inlets) {
  if (auto loaded = store_.load_labels(labels_); !loaded) return loaded;
  for (const fleet::NodeSheet& sheet : site_.node_sheets) {
    auto index = writer_.sheet(sheet.head.name);
    if (!index) return Failure{index.error()};
    sheets_.push_back(*index);
  }
  const auto totals = store_.source_totals();
  if (!totals) return Failure{totals.error()};
  for (Inlet& inlet : inlets) {
    auto marks = store_.marks(inlet.receiver());
    if (!marks) return Failure{marks.error()};
    inlet.take_up(std::move(*marks));
    const auto known = std::find_if(
        totals->begin(), totals->end(),
        [&](const store::SourceTotals& of_source) { return of_source.source == inlet.receiver(); });
    if (known != totals->end()) inlet.take_up(*known);
  }
  return store::Done{};
}

store::SheetIndex HearingKeeper::sheet_of(fleet::NodeIndex node,
                                          std::optional<std::uint32_t> tag) const {
  const auto at = static_cast<std::size_t>(node);
  if (at < site_.nodes.size() && site_.nodes[at].sheet) return sheets_[*site_.nodes[at].sheet];
  return tag ? sheets_[*tag] : store::Writer::kUnsheeted;
}

store::Outcome HearingKeeper::append(const fleet::Hearing& hearing,
                                     std::optional<std::uint32_t> tag, const Inlet& inlet) {
  auto taken = writer_.append(hearing, labels_, sheet_of(hearing.node, tag));
  if (!taken) return taken;
  const auto receiver = static_cast<std::size_t>(hearing.receiver);
  if (came_through_.size() <= receiver) came_through_.resize(receiver + 1, nullptr);
  if (came_through_[receiver] != &inlet) {
    came_through_[receiver] = &inlet;
    writer_.came_through(hearing.receiver, inlet.receiver());
  }
  return taken;
}

void HearingKeeper::keep_unread(const wire::Unread& unread, const Inlet& inlet) {
  const std::int64_t second = unread.at.ns / 1'000'000'000;
  auto known = std::find_if(unread_.begin(), unread_.end(),
                            [&](const KeptUnread& kept) { return kept.inlet == &inlet; });
  if (known == unread_.end()) known = unread_.insert(unread_.end(), {&inlet, second, 0});
  if (known->second != second) *known = {&inlet, second, 0};
  if (known->frames++ >= kMostUnreadPerSecond) return;
  const auto kept = std::min(unread.octets.size(), store::UnreadFrame::kLongest);
  writer_.keep({unread.at, inlet.receiver(), std::string{unread.reason}, unread.what,
                std::string{reinterpret_cast<const char*>(unread.octets.data()), kept},
                unread.length});
}

void HearingKeeper::listened(const Inlet& inlet, const Awake& stretch) {
  writer_.listened(inlet.receiver(), stretch.from, stretch.to);
}

store::Outcome HearingKeeper::commit(std::span<Inlet> inlets, Instant now) {
  for (Inlet& inlet : inlets) {
    if (const auto awake = inlet.awake()) listened(inlet, *awake);
    writer_.remember(inlet.receiver(), inlet.marks());
    writer_.total(inlet.totals(now));
  }
  const auto committed = writer_.commit(labels_);
  if (!committed) return Failure{committed.error()};
  for (Inlet& inlet : inlets) inlet.forget_last_stretch();
  return store::Done{};
}

}  // namespace fieldfare::app
