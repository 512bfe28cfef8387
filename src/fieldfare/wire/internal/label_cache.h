// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <cstring>
#include <string_view>

namespace fieldfare::wire {

/// A small table in front of fleet::Labels, which hashes whole texts: most rows
/// name a node that was named a moment ago. Each text has one slot; what falls
/// into the same slot takes it over. Texts longer than kLongest are not kept.
template <class Index, std::size_t kSlots>
class LabelCache {
 public:
  /// Null where the text is not in the table. Valid until the next put().
  const Index* find(std::string_view text) const {
    const Entry& entry = entries_[slot_of(text)];
    const bool same = entry.size == text.size() && !text.empty() &&
                      std::memcmp(entry.text.data(), text.data(), text.size()) == 0;
    return same ? &entry.index : nullptr;
  }

  void put(std::string_view text, Index index) {
    if (text.empty() || text.size() > kLongest) return;
    Entry& entry = entries_[slot_of(text)];
    std::memcpy(entry.text.data(), text.data(), text.size());
    entry.size = static_cast<std::uint8_t>(text.size());
    entry.index = index;
  }

 private:
  static constexpr std::size_t kLongest = 27;
  static_assert((kSlots & (kSlots - 1)) == 0, "slots are picked by a mask");

  struct Entry {
    std::array<char, kLongest> text{};
    std::uint8_t size = 0;
    Index index{};
  };

  static std::uint64_t load(const char* at, std::size_t size) {
    std::uint64_t word = 0;
    std::memcpy(&word, at, size);
    return word;
  }

  /// Addresses differ at their ends, names often at their beginnings: the first
  /// and the last eight bytes are mixed (a multiplication by an odd constant,
  /// the top bits taken).
  static std::size_t slot_of(std::string_view text) {
    constexpr std::uint64_t kMix = 0x9E3779B97F4A7C15;  // 2^64 / golden ratio, odd
    std::uint64_t word = text.size();
    if (text.size() >= 8) {
      word ^= load(text.data(), 8) * kMix + load(text.data() + text.size() - 8, 8);
    } else if (text.size() >= 4) {
      word ^= (load(text.data(), 4) << 32) | load(text.data() + text.size() - 4, 4);
    } else if (!text.empty()) {
      word ^= (load(text.data(), 1) << 16) | (load(text.data() + text.size() / 2, 1) << 8) |
              load(text.data() + text.size() - 1, 1);
    }
    return static_cast<std::size_t>((word * kMix) >> 40) & (kSlots - 1);
  }

  std::array<Entry, kSlots> entries_{};
};

}  // namespace fieldfare::wire
