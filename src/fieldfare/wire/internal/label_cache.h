// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <string_view>

namespace fieldfare::wire {

/// A small table in front of fleet::Labels, which hashes whole texts: most rows
/// name a node that was named a moment ago. Each text has one slot; what falls
/// into the same slot takes it over.
///
/// Texts of at most 24 bytes are held, an EUI-64 with its separators included:
/// three words of eight bytes, overlapping where the text is shorter, and the
/// size say all that such a text says, so that they are compared in its place.
template <class Index, std::size_t kSlots>
class LabelCache {
 public:
  /// Null where the text is not in the table. Valid until the next put().
  const Index* find(std::string_view text) const {
    if (text.empty() || text.size() > kLongest) return nullptr;
    const Words words = words_of(text);
    const Entry& entry = entries_[slot_of(words)];
    return entry.words == words ? &entry.index : nullptr;
  }

  void put(std::string_view text, Index index) {
    if (text.empty() || text.size() > kLongest) return;
    const Words words = words_of(text);
    entries_[slot_of(words)] = {words, index};
  }

 private:
  static constexpr std::size_t kLongest = 24;
  static_assert((kSlots & (kSlots - 1)) == 0, "slots are picked by a mask");

  struct Words {
    std::uint64_t first = 0;
    std::uint64_t middle = 0;
    std::uint64_t last = 0;
    std::uint32_t size = 0;  ///< 0 in slots not in use

    bool operator==(const Words&) const = default;
  };
  struct Entry {
    Words words;
    Index index{};
  };

  static std::uint64_t load(const char* at, std::size_t size) {
    std::uint64_t word = 0;
    std::memcpy(&word, at, size);
    return word;
  }

  static Words words_of(std::string_view text) {
    const char* const at = text.data();
    const std::size_t size = text.size();
    const auto kept_size = static_cast<std::uint32_t>(size);
    if (size >= 8) {
      const std::size_t middle = size < 16 ? 0 : 8;
      return {load(at, 8), load(at + middle, 8), load(at + size - 8, 8), kept_size};
    }
    if (size >= 4) return {load(at, 4), 0, load(at + size - 4, 4), kept_size};
    return {load(at, 1), load(at + size / 2, 1), load(at + size - 1, 1), kept_size};
  }

  /// Multiplication by an odd constant (2^64 / golden ratio) carries every bit
  /// upwards; the slot is taken from up there.
  static std::size_t slot_of(const Words& words) {
    constexpr std::uint64_t kMix = 0x9E3779B97F4A7C15;
    const std::uint64_t mixed =
        ((words.first * kMix) ^ (words.middle << 1) ^ words.last ^ words.size) * kMix;
    return static_cast<std::size_t>(mixed >> 40) & (kSlots - 1);
  }

  std::array<Entry, kSlots> entries_{};
};

}  // namespace fieldfare::wire
