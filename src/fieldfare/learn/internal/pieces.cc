// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/pieces.h"

#include <algorithm>
#include <array>
#include <optional>

#include "fieldfare/learn/internal/description.h"

namespace fieldfare::learn {
namespace {

using fleet::ByteOrder;
using fleet::NumberForm;
using fleet::NumberKind;

constexpr std::size_t kWidest = 4;

/// A piece that could begin at some octet, with the bits it takes.
struct Option {
  Piece piece;
  double bits = kImpossible;
};

/// Which byte order the numbers of a frame have, as far as that is taken to be one.
enum class House : std::uint8_t { mixed, big, little };
constexpr double kOtherOrder = 8;  // a frame seldom mixes orders
constexpr double kMixedOrder = 2;

double order_bits(House house, const Piece& piece) {
  if (piece.kind != Piece::Kind::number || piece.form.octets == 1) return 0;
  if (house == House::mixed) return kMixedOrder;
  const ByteOrder usual = house == House::big ? ByteOrder::big : ByteOrder::little;
  return piece.form.order == usual ? 0 : kOtherOrder;
}

class Options {
 public:
  Options(const ReportSeries& series, const Support& support)
      : series_{series}, support_{support} {}

  /// All pieces that can begin at `at` and end at `end` or before.
  std::vector<Option> at(std::size_t at, std::size_t end) const {
    std::vector<Option> options;
    const auto add = [&](Piece::Kind kind, double bits) {
      if (bits < kImpossible) options.push_back({{kind, at, at + 1}, bits});
    };
    add(Piece::Kind::constant, constant_bits(series_, at));
    if (options.empty()) add(Piece::Kind::node_constant, node_constant_bits(series_, at));
    if (options.empty()) add(Piece::Kind::noise, noise_bits(series_));
    for (std::size_t width = 1; width <= std::min(kWidest, end - at); ++width) {
      for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
        if (width == 1 && order == ByteOrder::little) continue;
        for (const NumberKind kind : {NumberKind::unsigned_integer, NumberKind::signed_integer,
                                      NumberKind::bcd, NumberKind::real}) {
          if (kind == NumberKind::real && width != 4) continue;
          add_number(options, at, NumberForm{kind, static_cast<int>(width), order, {}});
        }
      }
    }
    return options;
  }

 private:
  void add_number(std::vector<Option>& options, std::size_t at, const NumberForm& form) const {
    const NumberBits found = number_bits(series_, at, form);
    if (found.bits >= kImpossible) return;
    const double support = support_(at, form);
    // A number that never moves is one only where an instrument says so.
    if (!found.moves && support <= 0) return;
    Piece piece{Piece::Kind::number, at, at + static_cast<std::size_t>(form.octets), form};
    piece.around_mean = found.around_mean;
    options.push_back({piece, found.bits - support});
  }

  const ReportSeries& series_;
  const Support& support_;
};

/// Octets that stand together and belong to nothing else.
struct Run {
  std::size_t from = 0;
  std::vector<std::vector<Option>> options;  ///< by first octet, from `from`
};

std::vector<Run> free_runs(const ReportSeries& series, std::span<const Taken> taken) {
  std::vector<bool> is_taken(series.octets(), false);
  for (const Taken& each : taken) {
    for (std::size_t i = each.from; i < std::min(each.to, is_taken.size()); ++i) is_taken[i] = true;
  }
  std::vector<Run> runs;
  for (std::size_t i = 0; i < is_taken.size(); ++i) {
    if (is_taken[i]) continue;
    if (i == 0 || is_taken[i - 1]) runs.push_back({i, {}});
    runs.back().options.emplace_back();
  }
  return runs;
}

struct BestCut {
  std::vector<Piece> pieces;
  double bits = 0;
};

/// Whether two pieces say the same of the same octets, their sign aside.
bool is_same_place(const Piece& a, const Piece& b) {
  return a.kind == b.kind && a.from == b.from && a.to == b.to && a.form.order == b.form.order;
}

/// The shortest way through a run, by dynamic programming from its end; `without`
/// is no part of it.
BestCut best_cut(const Run& run, House house, const Piece* without) {
  const std::size_t size = run.options.size();
  std::vector<double> bits(size + 1, 0);
  std::vector<const Option*> choice(size, nullptr);
  for (std::size_t i = size; i-- > 0;) {
    bits[i] = kImpossible;
    for (const Option& each : run.options[i]) {
      if (without && is_same_place(each.piece, *without)) continue;
      const double total =
          each.bits + order_bits(house, each.piece) + bits[each.piece.to - run.from];
      if (total >= bits[i]) continue;
      bits[i] = total;
      choice[i] = &each;
    }
  }
  BestCut cut{{}, bits[0]};
  if (cut.bits >= kImpossible) return cut;
  for (std::size_t i = 0; i < size; i = cut.pieces.back().to - run.from) {
    cut.pieces.push_back(choice[i]->piece);
  }
  return cut;
}

/// The best cut of all runs, their byte orders taken together.
BestCut best_cut(const std::vector<Run>& runs, House house) {
  BestCut cut;
  for (const Run& run : runs) {
    BestCut part = best_cut(run, house, nullptr);
    cut.bits += part.bits;
    cut.pieces.insert(cut.pieces.end(), part.pieces.begin(), part.pieces.end());
  }
  return cut;
}

/// The best that there is in a run, in whatever house.
double shortest(const Run& run, const Piece* without) {
  double bits = kImpossible;
  for (const House house : {House::big, House::little, House::mixed}) {
    bits = std::min(bits, best_cut(run, house, without).bits);
  }
  return bits;
}

/// Bits of the integer with the sign that it doesn't have.
double other_sign_bits(const Run& run, const Piece& piece) {
  for (const Option& each : run.options[piece.from - run.from]) {
    const bool is_integer = each.piece.form.kind == NumberKind::unsigned_integer ||
                            each.piece.form.kind == NumberKind::signed_integer;
    if (is_integer && is_same_place(each.piece, piece) && each.piece.form.kind != piece.form.kind) {
      return each.bits;
    }
  }
  return kImpossible;
}

double bits_of(const Run& run, const Piece& piece) {
  for (const Option& each : run.options[piece.from - run.from]) {
    if (is_same_place(each.piece, piece) && each.piece.form.kind == piece.form.kind) {
      return each.bits;
    }
  }
  return kImpossible;
}

void add_margins(const std::vector<Run>& runs, std::vector<Piece>& pieces) {
  // Each takes a search of its own; a frame with more numbers is no node's report.
  constexpr std::size_t kMostPieces = 128;
  if (pieces.size() > kMostPieces) return;
  for (const Run& run : runs) {
    const double best = shortest(run, nullptr);
    const std::size_t end = run.from + run.options.size();
    for (Piece& each : pieces) {
      if (each.kind != Piece::Kind::number || each.from < run.from || each.from >= end) continue;
      each.margin_bits = std::max(0.0, shortest(run, &each) - best);
      each.sign_bits = other_sign_bits(run, each) - bits_of(run, each);
    }
  }
}

bool runs_on(const Piece& a, const Piece& b) {
  return a.kind == b.kind && a.kind != Piece::Kind::number && a.to == b.from;
}

std::vector<Piece> joined(const std::vector<Piece>& pieces) {
  std::vector<Piece> result;
  for (const Piece& each : pieces) {
    if (!result.empty() && runs_on(result.back(), each)) {
      result.back().to = each.to;
    } else {
      result.push_back(each);
    }
  }
  return result;
}

}  // namespace

std::vector<Piece> cut_into_pieces(const ReportSeries& series, std::span<const Taken> taken,
                                   const Support& support) {
  std::vector<Run> runs = free_runs(series, taken);
  const Options options{series, support};
  for (Run& run : runs) {
    const std::size_t end = run.from + run.options.size();
    for (std::size_t i = 0; i < run.options.size(); ++i) {
      run.options[i] = options.at(run.from + i, end);
    }
  }
  BestCut best{{}, kImpossible};
  for (const House house : {House::big, House::little, House::mixed}) {
    BestCut cut = best_cut(runs, house);
    if (cut.bits < best.bits) best = std::move(cut);
  }
  add_margins(runs, best.pieces);
  return joined(best.pieces);
}

}  // namespace fieldfare::learn
