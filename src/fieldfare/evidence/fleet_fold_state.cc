// SPDX-License-Identifier: Apache-2.0
// Saving and restoring a fold.
#include <optional>
#include <unordered_map>

#include "fieldfare/evidence/internal/archive.h"
#include "fieldfare/evidence/internal/fleet_fold_impl.h"

namespace fieldfare::evidence {
namespace {

using internal::StateReader;
using internal::StateWriter;

/// Of the saved form; a change of what is saved, or of what it means, counts it up.
constexpr std::uint32_t kStateVersion = 1;
constexpr std::size_t kMostReceivers = 65536;

/// Text for an archive, which knows numbers only.
struct Text {
  std::vector<std::uint8_t> bytes;

  template <class Archive>
  void visit(Archive& archive) {
    archive(bytes);
  }
};

/// What stands before every saved state.
struct Preamble {
  std::uint32_t version = kStateVersion;
  std::vector<Text> receivers;  ///< names, by the index that the state uses

  template <class Archive>
  void visit(Archive& archive) {
    archive(version, receivers);
  }
};

Preamble preamble_of(const fleet::Labels& labels) {
  Preamble preamble;
  for (std::size_t i = 0; i < labels.receiver_count(); ++i) {
    const std::string& name =
        labels.receiver_name(fleet::ReceiverIndex{static_cast<std::uint32_t>(i)});
    preamble.receivers.push_back({.bytes = {name.begin(), name.end()}});
  }
  return preamble;
}

/// The saved receivers' indices in this run; nothing where the state is of
/// another version, damaged, or names a receiver that isn't known.
std::optional<std::vector<std::uint16_t>> read_preamble(StateReader& reader,
                                                        const fleet::Labels& labels) {
  Preamble preamble;
  reader(preamble);
  if (!reader.ok() || preamble.version != kStateVersion) return std::nullopt;
  std::unordered_map<std::string, std::uint16_t> known;
  for (std::size_t i = 0; i < labels.receiver_count() && i < kMostReceivers; ++i) {
    const fleet::ReceiverIndex index{static_cast<std::uint32_t>(i)};
    known.emplace(labels.receiver_name(index), static_cast<std::uint16_t>(i));
  }
  std::vector<std::uint16_t> map;
  for (const Text& name : preamble.receivers) {
    const auto found = known.find({name.bytes.begin(), name.bytes.end()});
    if (found == known.end()) return std::nullopt;
    map.push_back(found->second);
  }
  return map;
}

struct SavedFacts {
  std::optional<std::uint8_t> sequence_bits;
  std::optional<std::int64_t> interval_ns;

  template <class Archive>
  void visit(Archive& archive) {
    archive(sequence_bits, interval_ns);
  }
};

}  // namespace

std::string FleetFold::save_node(fleet::NodeIndex index) const {
  Impl::Node& node = impl_->node(index);
  StateWriter writer;
  Preamble preamble = preamble_of(*impl_->labels);
  SavedFacts facts{node.facts.sequence_bits, std::nullopt};
  if (node.facts.interval) facts.interval_ns = node.facts.interval->ns;
  writer(preamble, facts, node.window, node.fold);
  return writer.take();
}

bool FleetFold::restore_node(fleet::NodeIndex index, std::string_view bytes) {
  StateReader reader{bytes};
  auto receivers = read_preamble(reader, *impl_->labels);
  if (!receivers) return false;
  reader.map_receivers(std::move(*receivers));
  SavedFacts saved;
  reader(saved);
  NodeFacts facts{.sequence_bits = saved.sequence_bits, .interval = std::nullopt};
  if (saved.interval_ns) facts.interval = Duration{*saved.interval_ns};
  Impl::Node& node = impl_->node(index);
  if (!reader.ok() || facts != node.facts) return false;
  Impl::Node restored{facts};
  reader(restored.window, restored.fold);
  if (!reader.ok() || !reader.at_end()) return false;
  node = std::move(restored);
  return true;
}

std::string FleetFold::save_receivers() const {
  StateWriter writer;
  Preamble preamble = preamble_of(*impl_->labels);
  writer(preamble, impl_->activity);
  return writer.take();
}

bool FleetFold::restore_receivers(std::string_view bytes) {
  StateReader reader{bytes};
  const auto receivers = read_preamble(reader, *impl_->labels);
  if (!receivers) return false;
  std::vector<internal::Activity> activity;
  reader(activity);
  if (!reader.ok() || !reader.at_end() || activity.size() > receivers->size()) return false;
  impl_->activity.clear();
  for (std::size_t i = 0; i < activity.size(); ++i) {
    impl_->activity_of((*receivers)[i]) = std::move(activity[i]);
  }
  return true;
}

}  // namespace fieldfare::evidence
