// SPDX-License-Identifier: Apache-2.0
#include "dice.h"

#include <bit>
#include <cassert>
#include <cmath>
#include <numbers>

namespace fieldfare::truth {

std::uint64_t splitmix64(std::uint64_t& state) {
  state += 0x9e3779b97f4a7c15;
  std::uint64_t z = state;
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9;
  z = (z ^ (z >> 27)) * 0x94d049bb133111eb;
  return z ^ (z >> 31);
}

Dice::Dice(std::uint64_t seed, std::uint64_t stream) : state_{} {
  if (stream > 0) seed = splitmix64(seed) ^ splitmix64(stream);
  for (std::uint64_t& word : state_) word = splitmix64(seed);
}

std::uint64_t Dice::next() {
  const std::uint64_t result = std::rotl(state_[1] * 5, 7) * 9;
  const std::uint64_t t = state_[1] << 17;
  state_[2] ^= state_[0];
  state_[3] ^= state_[1];
  state_[1] ^= state_[2];
  state_[0] ^= state_[3];
  state_[2] ^= t;
  state_[3] = std::rotl(state_[3], 45);
  return result;
}

double Dice::uniform() { return static_cast<double>(next() >> 11) * 0x1.0p-53; }

std::uint64_t Dice::below(std::uint64_t count) {
  assert(count > 0);
  const std::uint64_t ragged = (0 - count) % count;  // 2^64 mod count
  std::uint64_t draw = next();
  while (draw < ragged) draw = next();
  return draw % count;
}

double Dice::normal() {
  if (has_spare_) {
    has_spare_ = false;
    return spare_;
  }
  double u = 0;
  double v = 0;
  double s = 0;
  do {
    u = uniform(-1, 1);
    v = uniform(-1, 1);
    s = u * u + v * v;
  } while (s >= 1 || s == 0);
  const double scale = std::sqrt(-2 * portable_log(s) / s);
  spare_ = v * scale;
  has_spare_ = true;
  return u * scale;
}

double portable_log(double x) {
  assert(x > 0);
  int exponent = 0;
  double mantissa = std::frexp(x, &exponent);  // exact; in [0.5, 1)
  if (mantissa < std::numbers::sqrt2 / 2) {
    mantissa *= 2;
    --exponent;
  }
  // log m = 2 atanh z with |z| <= 0.172, so that 10 terms reach 2^-53.
  const double z = (mantissa - 1) / (mantissa + 1);
  const double square = z * z;
  double series = 0;
  for (int k = 10; k >= 0; --k) series = series * square + 1.0 / (2 * k + 1);
  return exponent * std::numbers::ln2 + 2 * z * series;
}

}  // namespace fieldfare::truth
