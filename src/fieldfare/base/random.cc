// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/random.h"

#include <bit>
#include <cassert>
#include <cmath>

namespace fieldfare {
namespace {

std::uint64_t fnv1a(std::string_view text) {
  std::uint64_t hash = 0xCBF2'9CE4'8422'2325;
  for (const char c : text) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x0000'0100'0000'01B3;
  }
  return hash;
}

using Coefficients = std::array<double, 8>;

/// c[0] + c[1] x + ... + c[7] x^7
double polynomial(const Coefficients& c, double x) {
  double sum = 0;
  for (std::size_t i = c.size(); i-- > 0;) sum = sum * x + c[i];
  return sum;
}

// AS 241, PPND16: numerators and denominators for the middle, the shoulders
// and the far tails.
constexpr Coefficients kMiddleOver = {3.3871328727963666080e0, 1.3314166789178437745e2,
                                      1.9715909503065514427e3, 1.3731693765509461125e4,
                                      4.5921953931549871457e4, 6.7265770927008700853e4,
                                      3.3430575583588128105e4, 2.5090809287301226727e3};
constexpr Coefficients kMiddleUnder = {1.0,
                                       4.2313330701600911252e1,
                                       6.8718700749205790830e2,
                                       5.3941960214247511077e3,
                                       2.1213794301586595867e4,
                                       3.9307895800092710610e4,
                                       2.8729085735721942674e4,
                                       5.2264952788528545610e3};
constexpr Coefficients kShoulderOver = {1.42343711074968357734e0,  4.63033784615654529590e0,
                                        5.76949722146069140550e0,  3.64784832476320460504e0,
                                        1.27045825245236838258e0,  2.41780725177450611770e-1,
                                        2.27238449892691845833e-2, 7.74545014278341407640e-4};
constexpr Coefficients kShoulderUnder = {1.0,
                                         2.05319162663775882187e0,
                                         1.67638483018380384940e0,
                                         6.89767334985100004550e-1,
                                         1.48103976427480074590e-1,
                                         1.51986665636164571966e-2,
                                         5.47593808499534494600e-4,
                                         1.05075007164441684324e-9};
constexpr Coefficients kTailOver = {6.65790464350110377720e0,  5.46378491116411436990e0,
                                    1.78482653991729133580e0,  2.96560571828504891230e-1,
                                    2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                    2.71155556874348757815e-5, 2.01033439929228813265e-7};
constexpr Coefficients kTailUnder = {1.0,
                                     5.99832206555887937690e-1,
                                     1.36929880922735805310e-1,
                                     1.48753612908506148525e-2,
                                     7.86869131145613259100e-4,
                                     1.84631831751005468180e-5,
                                     1.42151175831644588870e-7,
                                     2.04426310338993978564e-15};

}  // namespace

std::uint64_t split_mix(std::uint64_t& state) {
  std::uint64_t z = state += 0x9E37'79B9'7F4A'7C15;
  z = (z ^ z >> 30) * 0xBF58'476D'1CE4'E5B9;
  z = (z ^ z >> 27) * 0x94D0'49BB'1331'11EB;
  return z ^ z >> 31;
}

RandomStream::RandomStream(std::uint64_t seed, std::string_view name) : state_{} {
  std::uint64_t filling = split_mix(seed) ^ fnv1a(name);
  for (std::uint64_t& word : state_) word = split_mix(filling);
}

std::uint64_t RandomStream::next() {
  const std::uint64_t out = std::rotl(state_[1] * 5, 7) * 9;
  const std::uint64_t carried = state_[1] << 17;
  state_[2] ^= state_[0];
  state_[3] ^= state_[1];
  state_[1] ^= state_[2];
  state_[0] ^= state_[3];
  state_[2] ^= carried;
  state_[3] = std::rotl(state_[3], 45);
  return out;
}

double RandomStream::uniform() { return static_cast<double>(next() >> 11) * 0x1p-53; }

std::uint64_t RandomStream::below(std::uint64_t bound) {
  assert(bound > 0);
  // Drawing as many bits as bound - 1 has and throwing away what is too large
  // has no bias, and needs fewer than two draws on average.
  const int unused = std::countl_zero(bound - 1);
  if (unused == 64) return 0;
  std::uint64_t draw = 0;
  do {
    draw = next() >> unused;
  } while (draw >= bound);
  return draw;
}

double RandomStream::normal() {
  const double middle_of_step = (static_cast<double>(next() >> 12) + 0.5) * 0x1p-52;
  return normal_quantile(middle_of_step);
}

double RandomStream::exponential(double mean) { return -mean * std::log1p(-uniform()); }

double normal_quantile(double p) {
  assert(p > 0 && p < 1);
  const double q = p - 0.5;
  if (std::abs(q) <= 0.425) {
    const double r = 0.180625 - q * q;
    return q * polynomial(kMiddleOver, r) / polynomial(kMiddleUnder, r);
  }
  const double r = std::sqrt(-std::log(q < 0 ? p : 1 - p));
  const double size = r <= 5
                          ? polynomial(kShoulderOver, r - 1.6) / polynomial(kShoulderUnder, r - 1.6)
                          : polynomial(kTailOver, r - 5) / polynomial(kTailUnder, r - 5);
  return q < 0 ? -size : size;
}

}  // namespace fieldfare
