// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace fieldfare {

/// Seeded random numbers that are the same on every platform: the same seed
/// and name always give the same stream, and differently named streams of one
/// seed don't run in step, so that adding a draw to one leaves the others alone.
///
/// Not for secrets. Bits: xoshiro256**, its state filled by SplitMix64 from the
/// seed and the 64-bit FNV-1a hash of the name.
/// Source: Blackman & Vigna, ACM Trans. Math. Softw. 47 (2021); Steele, Lea &
/// Flood, OOPSLA 2014 (SplitMix64).
class RandomStream {
 public:
  RandomStream(std::uint64_t seed, std::string_view name);

  /// The bare generator from a given state, not all zero.
  explicit RandomStream(const std::array<std::uint64_t, 4>& state) : state_{state} {}

  /// 64 random bits.
  std::uint64_t next();

  /// In [0, 1), a multiple of 2^-53.
  double uniform();

  /// A whole number in [0, bound), every one as likely. Precondition: bound > 0.
  std::uint64_t below(std::uint64_t bound);

  /// True with the given probability; never for 0, always for 1.
  bool bernoulli(double probability) { return uniform() < probability; }

  /// Standard normal, by inversion, one uniform number each.
  double normal();

  /// Exponential with the given mean, by inversion.
  double exponential(double mean);

 private:
  std::array<std::uint64_t, 4> state_;
};

/// The next output of SplitMix64; advances `state`.
std::uint64_t split_mix(std::uint64_t& state);

/// The value below which a standard normal falls with probability `p`;
/// relative error about 1e-16. Precondition: 0 < p < 1.
/// Source: Wichura, algorithm AS 241 (PPND16), Applied Statistics 37 (1988).
double normal_quantile(double p);

}  // namespace fieldfare
