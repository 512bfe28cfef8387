// SPDX-License-Identifier: Apache-2.0
// Saving and restoring a fold.
#include <cassert>
#include <cstring>
#include <optional>
#include <unordered_map>

#include "fieldfare/evidence/internal/archive.h"
#include "fieldfare/evidence/internal/fleet_fold_impl.h"
#include "fieldfare/evidence/internal/stable_hash.h"

namespace fieldfare::evidence {
namespace {

using internal::StateReader;
using internal::StateWriter;

/// Of the saved form; a change of what is saved, or of what it means, counts it up.
constexpr std::uint32_t kStateVersion = 4;

/// What stands behind every saved state.
constexpr std::size_t kChecksumBytes = sizeof(std::uint64_t);

std::string sealed(std::string bytes) {
  const std::uint64_t checksum = internal::stable_hash(bytes);
  bytes.append(reinterpret_cast<const char*>(&checksum), kChecksumBytes);
  return bytes;
}

/// The state without its checksum; nothing where the two don't agree.
std::optional<std::string_view> unsealed(std::string_view bytes) {
  if (bytes.size() < kChecksumBytes) return std::nullopt;
  const std::string_view state = bytes.substr(0, bytes.size() - kChecksumBytes);
  std::uint64_t checksum = 0;
  std::memcpy(&checksum, bytes.data() + state.size(), kChecksumBytes);
  if (checksum != internal::stable_hash(state)) return std::nullopt;
  return state;
}

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
std::optional<std::vector<std::uint32_t>> read_preamble(StateReader& reader,
                                                        const fleet::Labels& labels) {
  Preamble preamble;
  reader(preamble);
  if (!reader.ok() || preamble.version != kStateVersion) return std::nullopt;
  std::unordered_map<std::string, std::uint32_t> known;
  for (std::size_t i = 0; i < labels.receiver_count(); ++i) {
    const auto index = static_cast<std::uint32_t>(i);
    known.emplace(labels.receiver_name(fleet::ReceiverIndex{index}), index);
  }
  std::vector<std::uint32_t> map;
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
  bool event_driven = false;

  template <class Archive>
  void visit(Archive& archive) {
    archive(sequence_bits, interval_ns, event_driven);
  }
};

}  // namespace

std::string FleetFold::save_node(fleet::NodeIndex index) const {
  const Impl::Node* known = impl_->find(index);
  Impl::Node node = known ? *known : Impl::Node{impl_->facts_of(index)};
  assert(!node.overtaken);
  StateWriter writer;
  Preamble preamble = preamble_of(*impl_->labels);
  SavedFacts facts{node.facts.sequence_bits, std::nullopt, node.facts.event_driven};
  if (node.facts.interval) facts.interval_ns = node.facts.interval->ns;
  writer(preamble, facts, node.window, node.fold);
  return sealed(writer.take());
}

bool FleetFold::restore_node(fleet::NodeIndex index, std::string_view bytes) {
  const auto state = unsealed(bytes);
  if (!state) return false;
  StateReader reader{*state};
  auto receivers = read_preamble(reader, *impl_->labels);
  if (!receivers) return false;
  reader.map_receivers(std::move(*receivers));
  SavedFacts saved;
  reader(saved);
  NodeFacts facts{.sequence_bits = saved.sequence_bits,
                  .interval = std::nullopt,
                  .event_driven = saved.event_driven};
  if (saved.interval_ns) facts.interval = Duration{*saved.interval_ns};
  if (!reader.ok() || facts != impl_->facts_of(index)) return false;
  Impl::Node restored{facts};
  reader(restored.window, restored.fold);
  if (!reader.ok() || !reader.at_end()) return false;
  impl_->node(index) = std::move(restored);
  return true;
}

std::string FleetFold::save_receivers() const {
  StateWriter writer;
  Preamble preamble = preamble_of(*impl_->labels);
  writer(preamble, impl_->activity);
  return sealed(writer.take());
}

bool FleetFold::restore_receivers(std::string_view bytes) {
  const auto state = unsealed(bytes);
  if (!state) return false;
  StateReader reader{*state};
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
