// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/framing_custom.h"

#include <algorithm>
#include <iterator>

namespace fieldfare::learn {
namespace {

using fleet::FrameFacts;
using fleet::Framing;
using fleet::Octets;

bool is_usual_end(const Octets& end) {
  const Octets usual[] = {{0x0A}, {0x0D}, {0x0D, 0x0A}, {0x03}, {0x04}, {0x16},
                          {0x55}, {0x7E}, {0xAA},       {0xEE}, {0xC0}, {0xFF}};
  return std::find(std::begin(usual), std::end(usual), end) != std::end(usual);
}

double bits_of_layout(const FrameFacts& facts) {
  switch (facts.framing) {
    case Framing::none:
      return -20;
    case Framing::slip:
    case Framing::hdlc:
    case Framing::cobs:
      return -4;
    case Framing::line:
      return 0;
    case Framing::length_prefixed:
      return (facts.start.empty() ? 2 : 0) +
             (is_usual_length(*facts.prefix, facts.start.size()) ? 0 : 5) +
             (facts.prefix->at == static_cast<int>(facts.start.size()) ? 0 : 2) +
             (facts.start.size() > 2 ? 2 : 0);
    case Framing::delimited:
      break;
  }
  double bits = facts.start.empty() ? 60 : facts.start.size() > 2 ? 2 : 0;
  if (facts.start.size() == 1) bits += 0.5;
  if (!facts.end.empty()) bits += is_usual_end(facts.end) ? -2 : 3;
  if (!facts.length) bits += facts.end.empty() ? 40 : 2;
  return bits;
}

/// Frames between the marks of a standard are no accident; a few may be. And messages
/// are whole: what sends them has framed them.
double bits_of_marks(Framing framing, std::size_t frames) {
  const bool is_standard =
      framing == Framing::slip || framing == Framing::hdlc || framing == Framing::cobs;
  if (!is_standard && framing != Framing::none) return 0;
  constexpr double kMost = 640;
  const double each = is_standard ? 16 : 20;
  return std::min(kMost, each * static_cast<double>(frames));
}

}  // namespace

bool is_usual_length(const fleet::LengthPrefix& prefix, std::size_t start) {
  const int behind = prefix.adds - prefix.at - prefix.octets;
  return prefix.adds == 0 || prefix.adds == static_cast<int>(start) || behind == 0 || behind == 1 ||
         behind == 2 || behind == 4;
}

double bits_of_custom(const FrameFacts& facts, std::size_t frames) {
  return bits_of_layout(facts) - bits_of_marks(facts.framing, frames);
}

}  // namespace fieldfare::learn
