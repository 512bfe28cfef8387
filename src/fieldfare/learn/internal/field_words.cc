// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/field_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fieldfare/base/number_text.h"

namespace fieldfare::learn {
namespace {

using fleet::NumberKind;

constexpr double kLikelyBits = 10;  // the cut's costs are rules of thumb: more than 1 in 100

Sureness sureness_of_margin(double bits) {
  return bits >= kLikelyBits ? Sureness::likely : Sureness::guess;
}

std::string hex(const Piece& piece, const fleet::Octets& octets) {
  std::string text;
  for (std::size_t i = piece.from; i < piece.to; ++i) {
    text += fmt::format("{}{:02X}", i == piece.from ? "" : " ", octets[i]);
  }
  return text;
}

std::string order_words(const fleet::NumberForm& form) {
  if (form.octets == 1) return "";
  return form.order == fleet::ByteOrder::big ? ", high octet first" : ", low octet first";
}

/// A number as people read it, with no more digits than tell.
std::string short_number(double value) { return number_text(std::round(value * 10) / 10); }

}  // namespace

Movement movement_of(const ReportSeries& series, const Piece& number) {
  Movement found;
  bool is_first = true;
  double steps = 0;
  for (const auto& reports : series.nodes()) {
    double least = 0;
    double most = 0;
    double before = 0;
    for (std::size_t i = 0; i < reports.size(); ++i) {
      const double value = raw_number(reports[i]->octets, number.from, number.form).value_or(0);
      if (i > 0) steps += std::fabs(value - before);
      least = i == 0 ? value : std::min(least, value);
      most = i == 0 ? value : std::max(most, value);
      before = value;
    }
    found.least = is_first ? least : std::min(found.least, least);
    found.most = is_first ? most : std::max(found.most, most);
    found.widest_in_node = std::max(found.widest_in_node, most - least);
    is_first = false;
  }
  found.mean_step = series.steps() == 0 ? 0 : steps / static_cast<double>(series.steps());
  return found;
}

std::string place_words(const Piece& piece) {
  const std::size_t last = piece.to - 1;
  if (last == piece.from) return fmt::format("octet {}", piece.from);
  return fmt::format("octets {} {} {}", piece.from, last == piece.from + 1 ? "and" : "to", last);
}

std::string form_words(const fleet::NumberForm& form) {
  switch (form.kind) {
    case NumberKind::unsigned_integer:
      return fmt::format("an unsigned number of {} bits{}", 8 * form.octets, order_words(form));
    case NumberKind::signed_integer:
      return fmt::format("a signed number of {} bits{}", 8 * form.octets, order_words(form));
    case NumberKind::real:
      return fmt::format("a real number of {} bits{}", 8 * form.octets, order_words(form));
    case NumberKind::bcd:
      return fmt::format("{} decimal digits (BCD){}", 2 * form.octets, order_words(form));
  }
  return "";
}

Finding constant_finding(const ReportSeries& series, const Piece& piece) {
  return {"header",
          Sureness::likely,
          fmt::format("{} held {} in all {} frames", place_words(piece),
                      hex(piece, series.nodes().front().front()->octets), series.frames()),
          "longer listening: it may still be a number that never moved, or its high part",
          {}};
}

Finding node_constant_finding(const ReportSeries& series, const Piece& piece) {
  return {"header",
          Sureness::guess,
          fmt::format("{} never changed for a node, but not all {} nodes have the same there: part "
                      "of an address, a setting, or a reading that stood still",
                      place_words(piece), series.nodes().size()),
          "longer listening, and more nodes",
          {}};
}

Finding network_finding(const ReportSeries& series, const Piece& piece) {
  return {"network",
          Sureness::guess,
          fmt::format("{} may be the number of a network: one value for most of the {} nodes, "
                      "another for the others, and never a change",
                      place_words(piece), series.nodes().size()),
          "what the nodes or their papers say of their network",
          {}};
}

Finding noise_finding(const ReportSeries& series, const Piece& piece) {
  return {"field",
          Sureness::guess,
          fmt::format("{} jumped about in {} frames without any order that could be seen",
                      place_words(piece), series.frames()),
          "reports in quick succession, while nothing changes at the node",
          {}};
}

Finding number_finding(const ReportSeries& series, const Piece& piece) {
  const Movement seen = movement_of(series, piece);
  const bool is_integer = piece.form.kind == NumberKind::unsigned_integer ||
                          piece.form.kind == NumberKind::signed_integer;
  const bool sign_is_open = is_integer && std::fabs(piece.sign_bits) < kLikelyBits;
  std::string what =
      fmt::format("{}: {}, from {} to {}, {} from one report of a node to the next",
                  place_words(piece), form_words(piece.form), number_text(seen.least),
                  number_text(seen.most), short_number(seen.mean_step));
  if (sign_is_open) what += "; no value shows whether it has a sign";
  std::string decides = "what an instrument beside a node says";
  if (sign_is_open) decides += ", and a report with a value below 0";
  return {"field", sureness_of_margin(piece.margin_bits), what, decides, {}};
}

Finding signal_finding(const ReportSeries& series, const Piece& piece) {
  const Movement seen = movement_of(series, piece);
  return {"signal",
          Sureness::guess,
          fmt::format("{} may be a signal strength in dBm: {} to {}, scattered around a mean of "
                      "each node",
                      place_words(piece), number_text(seen.least), number_text(seen.most)),
          "a node carried away: a signal strength falls",
          {}};
}

Finding supply_finding(const ReportSeries& series, const Piece& piece) {
  const Movement seen = movement_of(series, piece);
  return {"field",
          Sureness::guess,
          fmt::format("{} may be the supply in mV: {} to {}, and they hardly move",
                      place_words(piece), number_text(seen.least), number_text(seen.most)),
          "what a voltmeter at the cells of a node says",
          {}};
}

Finding opaque_finding(std::size_t octets, std::size_t frames) {
  return {"body",
          Sureness::likely,
          fmt::format("the {} octets that are left look like chance in all {} frames, as "
                      "enciphered or compressed ones do: no reading can be told from them",
                      octets, frames),
          "the key, or the format from whoever makes the node",
          {}};
}

Finding too_few_finding(const ReportSeries& series) {
  return {"field",
          Sureness::open,
          fmt::format("{} frames of {} nodes are too few to tell readings apart", series.frames(),
                      series.nodes().size()),
          "at least three reports of a node while its readings change",
          {}};
}

}  // namespace fieldfare::learn
