// SPDX-License-Identifier: Apache-2.0
// What the octets say that are neither address nor counter nor check.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "fieldfare/learn/internal/field_words.h"
#include "fieldfare/learn/internal/opaque.h"
#include "fieldfare/learn/internal/pieces.h"
#include "fieldfare/learn/internal/readings.h"
#include "fieldfare/learn/internal/report_series.h"

namespace fieldfare::learn {
namespace {

using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::NumberForm;
using fleet::NumberKind;

constexpr std::size_t kFewestSteps = 4;
constexpr std::size_t kMostOctetsRead = 100'000;
constexpr std::size_t kMostFields = 200;  // of the 256 that a sheet can have

std::vector<Sampled> samples_of(std::span<const Framed> frames, std::size_t at,
                                const NumberForm& form) {
  std::vector<Sampled> samples;
  samples.reserve(frames.size());
  for (const Framed& each : frames) {
    if (const auto raw = raw_number(each.octets, at, form)) {
      samples.push_back({each.node, each.at, *raw});
    }
  }
  return samples;
}

RawRange range_of(const NumberForm& form) {
  const double full = std::exp2(8.0 * form.octets);
  switch (form.kind) {
    case NumberKind::unsigned_integer:
      return {0, full - 1};
    case NumberKind::signed_integer:
      return {-full / 2, full / 2 - 1};
    case NumberKind::bcd:
      return {0, std::pow(10, 2 * form.octets) - 1};
    case NumberKind::real:
      break;
  }
  return {};
}

/// Values of the instruments, by the field that they measure.
std::map<std::string, std::vector<InstrumentValue>> by_field(
    std::span<const InstrumentValue> values) {
  std::map<std::string, std::vector<InstrumentValue>> sorted;
  for (const InstrumentValue& each : values) sorted[each.field].push_back(each);
  return sorted;
}

struct Instruments {
  std::vector<Framed> frames;
  std::span<const std::string> labels;
  std::map<std::string, std::vector<InstrumentValue>> values;

  std::optional<Pinned> pinned(const std::string& field, std::size_t at,
                               const NumberForm& form) const {
    return pin(samples_of(frames, at, form), values.at(field), labels, range_of(form));
  }

  /// How much an agreement speaks for a number at all. Any of some twenty numbers could be
  /// the one that is meant.
  double support(std::size_t at, const NumberForm& form) const {
    constexpr double kWhich = 4.3;
    constexpr double kMost = 8;
    double bits = 0;
    for (const auto& [field, ignored] : values) {
      const auto found = pinned(field, at, form);
      if (found) bits = std::max(bits, std::min(found->wonder_bits - kWhich, kMost));
    }
    return bits;
  }
};

/// The number that agrees best with each instrument.
struct PinnedPiece {
  std::string field;
  Pinned pinned;
  NumberForm form;         ///< with the sign that agrees
  std::size_t rivals = 0;  ///< others that agree nearly as well
};

/// How a piece agrees with an instrument, with the other sign too where that is open.
std::optional<PinnedPiece> pin_piece(const Instruments& instruments, const std::string& field,
                                     const Piece& piece) {
  constexpr double kOpenBits = 10;
  std::vector<NumberForm> forms{piece.form};
  const bool is_unsigned = piece.form.kind == NumberKind::unsigned_integer;
  if ((is_unsigned || piece.form.kind == NumberKind::signed_integer) &&
      piece.sign_bits < kOpenBits) {
    forms.push_back(piece.form);
    forms.back().kind = is_unsigned ? NumberKind::signed_integer : NumberKind::unsigned_integer;
  }
  std::optional<PinnedPiece> best;
  for (const NumberForm& form : forms) {
    const auto found = instruments.pinned(field, piece.from, form);
    if (!found || (best && found->wonder_bits <= best->pinned.wonder_bits)) continue;
    best = PinnedPiece{field, *found, form, 0};
  }
  return best;
}

std::map<std::size_t, PinnedPiece> pin_pieces(const Instruments& instruments,
                                              const std::vector<Piece>& pieces) {
  constexpr double kNearlyBits = 1;
  std::map<std::size_t, PinnedPiece> pinned;
  for (const auto& [field, ignored] : instruments.values) {
    std::vector<std::pair<std::size_t, PinnedPiece>> agreeing;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      if (pieces[i].kind != Piece::Kind::number || pinned.contains(i)) continue;
      if (auto found = pin_piece(instruments, field, pieces[i])) {
        agreeing.emplace_back(i, std::move(*found));
      }
    }
    if (agreeing.empty()) continue;
    const auto bits = [](const auto& each) { return each.second.pinned.wonder_bits; };
    std::stable_sort(agreeing.begin(), agreeing.end(),
                     [&](const auto& a, const auto& b) { return bits(a) > bits(b); });
    auto& [best, found] = agreeing.front();
    found.rivals = static_cast<std::size_t>(std::count_if(
        agreeing.begin() + 1, agreeing.end(),
        [&](const auto& each) { return bits(each) > bits(agreeing.front()) - kNearlyBits; }));
    pinned.insert(std::move(agreeing.front()));
  }
  return pinned;
}

/// Signal strength as receivers send it: a byte of dBm, scattered around a mean of its own
/// for each node. Levels are those of short-range receivers (common practice): one node
/// may lie on the receiver, all of them won't.
bool looks_like_signal(const ReportSeries& series, const Piece& piece) {
  constexpr double kWeakest = -120;
  constexpr double kOrdinary = -30;
  constexpr double kStrongest = 5;
  constexpr double kWidest = 30;
  constexpr double kLeastStep = 0.4;
  if (piece.form.octets != 1 || !piece.around_mean || series.nodes().size() < 2) return false;
  Piece as_signed = piece;
  as_signed.form.kind = NumberKind::signed_integer;
  const Movement seen = movement_of(series, as_signed);
  return seen.least >= kWeakest && seen.least <= kOrdinary && seen.most <= kStrongest &&
         seen.widest_in_node <= kWidest && seen.mean_step >= kLeastStep;
}

/// Millivolts of one or two cells that hardly move. Where rooms could be as warm (in
/// hundredths of a degree) it isn't taken for one.
bool looks_like_supply(const ReportSeries& series, const Piece& piece) {
  constexpr double kLowest = 2700;
  constexpr double kHighest = 4300;
  constexpr double kWidest = 60;
  if (piece.form.octets != 2 || piece.form.kind == NumberKind::bcd) return false;
  const Movement seen = movement_of(series, piece);
  return seen.least >= kLowest && seen.most <= kHighest && seen.widest_in_node <= kWidest;
}

/// Two octets that never change for a node and have one value for most nodes and one other.
bool looks_like_network(const ReportSeries& series, const Piece& piece) {
  if (piece.to - piece.from != 2 || series.nodes().size() < 3) return false;
  std::map<std::pair<std::uint8_t, std::uint8_t>, std::size_t> nodes;
  for (const auto& reports : series.nodes()) {
    const fleet::Octets& octets = reports.front()->octets;
    ++nodes[{octets[piece.from], octets[piece.from + 1]}];
  }
  const auto most = std::max_element(
      nodes.begin(), nodes.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  return nodes.size() == 2 && 2 * most->second > series.nodes().size();
}

/// Roles that the names of instruments' values stand for in logs.
std::pair<std::string, FieldRole> role_of(const std::string& field) {
  if (field == "rssi_dbm") return {"rssi", FieldRole::rssi};
  if (field == "snr_db") return {"snr", FieldRole::snr};
  if (field == "noise_dbm") return {"noise", FieldRole::noise};
  if (field == "supply_v") return {"supply", FieldRole::supply};
  return {field, FieldRole::reading};
}

/// Puts layouts, facts and findings of pieces together.
class Writer {
 public:
  Writer(const ReportSeries& series, std::map<std::size_t, PinnedPiece> pinned)
      : series_{series}, pinned_{std::move(pinned)} {
    for (const auto& [index, each] : pinned_) taken_roles_.insert(role_of(each.field).second);
  }

  void add(std::size_t index, const Piece& piece) {
    if (guesses_.fields.size() >= kMostFields) return;
    switch (piece.kind) {
      case Piece::Kind::constant:
        return add_run("constant", piece, constant_finding(series_, piece));
      case Piece::Kind::node_constant:
        if (looks_like_network(series_, piece)) {
          return add_network(piece);
        }
        return add_run("fixed", piece, node_constant_finding(series_, piece));
      case Piece::Kind::noise:
        return add_run("noise", piece, noise_finding(series_, piece));
      case Piece::Kind::number:
        break;
    }
    const auto known = pinned_.find(index);
    if (known != pinned_.end()) return add_pinned(piece, known->second);
    add_number(piece);
  }

  /// A stretch that nothing can be told of.
  void add_opaque(const Piece& piece) { add_field(run("opaque", piece)); }

  void tell(Finding finding) { guesses_.findings.push_back(std::move(finding)); }
  FieldGuesses take() { return std::move(guesses_); }

 private:
  static FieldLayout run(const std::string& what, const Piece& piece) {
    FieldLayout field;
    field.name = fmt::format("{}_{}", what, piece.from);
    field.role = FieldRole::part;
    field.place = fleet::AtOctet{static_cast<int>(piece.from),
                                 fleet::OctetsForm{static_cast<int>(piece.to - piece.from)}};
    return field;
  }

  static FieldLayout number(std::string name, FieldRole role, const Piece& piece) {
    FieldLayout field;
    field.name = std::move(name);
    field.role = role;
    field.place = fleet::AtOctet{static_cast<int>(piece.from), piece.form};
    return field;
  }

  void add_field(FieldLayout field) { guesses_.fields.push_back(std::move(field)); }

  void add_field(FieldLayout field, Finding finding) {
    finding.field = guesses_.fields.size();
    add_field(std::move(field));
    tell(std::move(finding));
  }

  void add_run(const std::string& what, const Piece& piece, Finding finding) {
    add_field(run(what, piece), std::move(finding));
  }

  void add_network(const Piece& piece) {
    if (!taken_roles_.insert(FieldRole::network).second) {
      return add_run("fixed", piece, node_constant_finding(series_, piece));
    }
    FieldLayout field = run("network", piece);
    field.role = FieldRole::network;
    add_field(std::move(field), network_finding(series_, piece));
  }

  void add_number(const Piece& piece) {
    if (looks_like_signal(series_, piece) && taken_roles_.insert(FieldRole::rssi).second) {
      Piece level = piece;
      level.form.kind = NumberKind::signed_integer;
      return add_field(number("rssi", FieldRole::rssi, level), signal_finding(series_, level));
    }
    if (looks_like_supply(series_, piece) && taken_roles_.insert(FieldRole::supply).second) {
      FieldLayout field = number("supply", FieldRole::supply, piece);
      field.conversion.scale = 0.001;
      return add_field(std::move(field), supply_finding(series_, piece));
    }
    add_field(number(fmt::format("value_{}_raw", piece.from), FieldRole::reading, piece),
              number_finding(series_, piece));
  }

  void add_pinned(Piece piece, const PinnedPiece& known) {
    piece.form = known.form;
    const auto [name, role] = role_of(known.field);
    FieldLayout field = number(name, role, piece);
    field.conversion.scale = known.pinned.scale;
    field.conversion.offset = known.pinned.offset;
    if (role == FieldRole::reading) {
      guesses_.facts.push_back({name, {}, std::fabs(known.pinned.scale), {}, {}});
    }
    Finding finding = number_finding(series_, piece);
    finding.what += pinned_words(known);
    finding.decides = "a second value of the instrument, at another level";
    if (known.rivals > 0 || known.pinned.wonder_bits < kWonder) finding.sureness = Sureness::guess;
    add_field(std::move(field), std::move(finding));
  }

  static std::string pinned_words(const PinnedPiece& known) {
    std::string words = fmt::format("; times {:.6g}", known.pinned.scale);
    if (known.pinned.offset != 0) words += fmt::format(" plus {:.6g}", known.pinned.offset);
    words +=
        fmt::format(" it agrees with {}, {:.2g} apart at most", known.field, known.pinned.misfit);
    if (known.rivals == 1) words += "; one other number agrees nearly as well";
    if (known.rivals > 1) words += fmt::format("; {} others agree nearly as well", known.rivals);
    return words;
  }

  static constexpr double kWonder = 6;  // chance in less than one of 64 numbers

  const ReportSeries& series_;
  std::map<std::size_t, PinnedPiece> pinned_;
  std::set<FieldRole> taken_roles_;
  FieldGuesses guesses_;
};

/// As many frames as can be read in good time; a stretch of them, since what moves from
/// report to report is what counts.
std::span<const Framed> readable(std::span<const Framed> frames) {
  const std::size_t octets = std::max<std::size_t>(frames.front().octets.size(), 1);
  return frames.first(std::min(frames.size(), std::max<std::size_t>(kMostOctetsRead / octets, 64)));
}

/// The frames that are read, and those of the others in which a node says what an
/// instrument's value is compared with.
std::vector<Framed> beside_instruments(std::span<const Framed> frames, std::size_t read,
                                       std::span<const InstrumentValue> values) {
  constexpr std::int64_t kWithinNs = 3'000'000'000;
  if (values.empty()) return {};
  std::vector<Framed> chosen(frames.begin(), frames.begin() + static_cast<std::ptrdiff_t>(read));
  const auto rest = frames.subspan(read);
  for (const InstrumentValue& value : values) {
    std::map<std::size_t, std::int64_t> nearest;
    const auto apart = [&](const Framed& each) { return std::abs((*each.at - *value.at).ns); };
    for (const Framed& each : rest) {
      if (!value.at || !each.at) continue;
      const auto [known, is_new] = nearest.try_emplace(each.node, apart(each));
      if (!is_new) known->second = std::min(known->second, apart(each));
    }
    for (const Framed& each : rest) {
      if (!value.at || !each.at) continue;
      if (apart(each) <= nearest[each.node] + kWithinNs) chosen.push_back(each);
    }
  }
  return chosen;
}

}  // namespace

FieldGuesses guess_fields(std::span<const Framed> frames, std::span<const Taken> taken,
                          std::span<const std::string> node_labels,
                          std::span<const InstrumentValue> values) {
  if (frames.empty()) return {};
  const std::span<const Framed> read = readable(frames);
  const ReportSeries series{read};
  if (series.steps() < kFewestSteps) return {{}, {}, {too_few_finding(series)}, false};
  const Instruments instruments{beside_instruments(frames, read.size(), values), node_labels,
                                by_field(values)};
  const auto pieces = cut_into_pieces(series, taken, [&](std::size_t at, const NumberForm& form) {
    return instruments.support(at, form);
  });
  const std::size_t opaque = opaque_octets(series, pieces);
  Writer writer{series, pin_pieces(instruments, pieces)};
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (opaque > 0 && pieces[i].kind == Piece::Kind::noise) {
      writer.add_opaque(pieces[i]);
    } else {
      writer.add(i, pieces[i]);
    }
  }
  if (opaque > 0) writer.tell(opaque_finding(opaque, series.frames()));
  FieldGuesses guesses = writer.take();
  guesses.opaque = opaque > 0;
  return guesses;
}

}  // namespace fieldfare::learn
