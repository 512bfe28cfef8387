// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/opaque.h"

#include <cmath>

namespace fieldfare::learn {
namespace {

constexpr std::size_t kFewestOctets = 4;

/// Chi-squared of how often bits are set, each expected in half of `trials`.
class Halves {
 public:
  void add(double set, double trials) {
    const double excess = set - trials / 2;
    chi_squared_ += excess * excess / (trials / 4);
    freedom_ += 1;
  }
  bool are_like_chance() const { return chi_squared_ <= freedom_ + 3 * std::sqrt(2 * freedom_); }

 private:
  double chi_squared_ = 0;
  double freedom_ = 0;
};

void add_octet(const ReportSeries& series, std::size_t at, Halves& set, Halves& changed) {
  for (unsigned bit = 0; bit < 8; ++bit) {
    double ones = 0;
    double changes = 0;
    for (const auto& reports : series.nodes()) {
      for (std::size_t i = 0; i < reports.size(); ++i) {
        const unsigned now = reports[i]->octets[at] >> bit & 1U;
        ones += now;
        if (i > 0) changes += now ^ (reports[i - 1]->octets[at] >> bit & 1U);
      }
    }
    set.add(ones, static_cast<double>(series.frames()));
    changed.add(changes, static_cast<double>(series.steps()));
  }
}

}  // namespace

std::size_t opaque_octets(const ReportSeries& series, std::span<const Piece> pieces) {
  std::size_t octets = 0;
  Halves set;
  Halves changed;
  for (const Piece& each : pieces) {
    if (each.kind == Piece::Kind::number) return 0;
    if (each.kind != Piece::Kind::noise) continue;
    octets += each.to - each.from;
    for (std::size_t at = each.from; at < each.to; ++at) add_octet(series, at, set, changed);
  }
  if (octets < kFewestOctets || !set.are_like_chance() || !changed.are_like_chance()) return 0;
  return octets;
}

}  // namespace fieldfare::learn
