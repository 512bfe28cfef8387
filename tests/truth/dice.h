// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>

namespace fieldfare::truth {

/// Seeded random draws for generated logs. The generators of truth share no
/// code with the program they put to the test, hence dice of their own.
///
/// The same seed gives the same draws on every platform: integer arithmetic,
/// and for normal deviates only operations that IEEE 754 rounds correctly
/// (+ - * / sqrt), so no logarithm of the platform's library.
///
/// Source: xoshiro256** 1.0 and splitmix64 by D. Blackman and S. Vigna, public
/// domain; from memory, held to the known first outputs by the test.
class Dice {
 public:
  /// Fills the state from `seed` by splitmix64. Streams of one seed are as
  /// unrelated as those of different seeds.
  explicit Dice(std::uint64_t seed, std::uint64_t stream = 0);
  explicit Dice(const std::array<std::uint64_t, 4>& state) : state_{state} {}

  std::uint64_t next();

  /// Uniform in [0, 1) in steps of 2^-53.
  double uniform();
  double uniform(double low, double high) { return low + (high - low) * uniform(); }

  /// Uniform in 0 .. count - 1; count > 0. Unbiased (rejects the ragged end).
  std::uint64_t below(std::uint64_t count);

  bool chance(double probability) { return uniform() < probability; }

  /// Standard normal deviate, by the polar method of Marsaglia and Bray (from
  /// memory; the moments are held by the test).
  double normal();

 private:
  std::array<std::uint64_t, 4> state_;
  double spare_ = 0;
  bool has_spare_ = false;
};

/// The next output of splitmix64; moves `state` on.
std::uint64_t splitmix64(std::uint64_t& state);

/// Natural logarithm of a finite x > 0 by the series of atanh, to about 1e-15
/// relative; the same bits on every IEEE 754 machine.
double portable_log(double x);

}  // namespace fieldfare::truth
