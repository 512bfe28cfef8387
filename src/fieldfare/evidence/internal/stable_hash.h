// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string_view>

namespace fieldfare::evidence::internal {

/// 64-bit FNV-1a: the same in every run and on every platform. No two texts that
/// differ in one byte have the same, since each step can be undone.
/// Source: Fowler, Noll and Vo for the two constants (from memory).
constexpr std::uint64_t stable_hash(std::string_view text) {
  constexpr std::uint64_t kOffsetBasis = 14695981039346656037U;
  constexpr std::uint64_t kPrime = 1099511628211U;
  std::uint64_t hash = kOffsetBasis;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * kPrime;
  return hash;
}

}  // namespace fieldfare::evidence::internal
