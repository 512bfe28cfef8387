// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/sheet_reader.h"

#include <algorithm>
#include <utility>

#include "fieldfare/site/internal/frame_reader.h"
#include "fieldfare/site/internal/grammar.h"
#include "fieldfare/site/internal/values.h"
#include "fieldfare/site/internal/view.h"

namespace fieldfare::site {
namespace {

using fleet::RadioFacts;

fleet::SheetHead read_head(const View& sheet) {
  return {sheet.text_or_empty("name"), sheet.flag("invented").value_or(false),
          sheet.text_or_empty("source")};
}

/// The keys that radios of nodes and of receivers share.
RadioFacts read_shared_radio(const View& radio) {
  RadioFacts facts;
  facts.band_mhz = radio.range("band_mhz");
  facts.phy = radio.text("phy");
  facts.bitrate_bps = radio.number("bitrate_bps");
  facts.bandwidth_hz = radio.number("bandwidth_hz");
  facts.antenna_gain_dbi = radio.number("antenna_gain_dbi");
  facts.sensitivity_dbm = radio.number("sensitivity_dbm");
  facts.overload_dbm = radio.number("overload_dbm");
  return facts;
}

void check_signal_range(const View& radio, const RadioFacts& facts, Complaints& complaints) {
  if (facts.sensitivity_dbm && facts.overload_dbm &&
      *facts.sensitivity_dbm >= *facts.overload_dbm) {
    complaints.error(radio.spot_of("overload_dbm"),
                     "`overload_dbm` is " + plain_number(*facts.overload_dbm) +
                         ", not above `sensitivity_dbm` " + plain_number(*facts.sensitivity_dbm),
                     "expected the strongest signal to be stronger than the weakest");
  }
}

std::optional<fleet::TransmitPower> read_tx_power(const View& radio, Complaints& complaints) {
  const auto table = radio.table("tx_dbm");
  if (!table) return std::nullopt;
  const auto as_delivered = table->number("default");
  fleet::TransmitPower power{table->numbers("allowed"), as_delivered.value_or(0)};
  const auto& allowed = power.allowed_dbm;
  const bool listed = std::find(allowed.begin(), allowed.end(), power.default_dbm) != allowed.end();
  if (as_delivered && !allowed.empty() && !listed) {
    complaints.error(table->spot_of("default"),
                     "`default` is " + plain_number(*as_delivered) + ", which is not in `allowed`",
                     "expected one of the allowed powers");
  }
  return power;
}

std::optional<fleet::Retries> read_retries(const View& radio, Complaints& complaints) {
  const auto table = radio.table("retries");
  if (!table) return std::nullopt;
  const auto min = table->small("min");
  const auto max = table->small("max");
  const auto as_delivered = table->small("default");
  if (!min || !max || !as_delivered) return std::nullopt;
  if (*min > *as_delivered || *as_delivered > *max) {
    complaints.error(table->spot_of("default"),
                     "`default` is " + std::to_string(*as_delivered) + ", not from `min` " +
                         std::to_string(*min) + " to `max` " + std::to_string(*max),
                     "expected min <= default <= max");
  }
  return fleet::Retries{*min, *max, *as_delivered};
}

std::optional<fleet::Hopping> read_hopping(const View& radio) {
  const auto table = radio.table("hopping");
  if (!table) return std::nullopt;
  const auto channels = table->small("channels");
  const auto dwell = table->duration("dwell");
  if (!channels || !dwell) return std::nullopt;
  return fleet::Hopping{*channels, *dwell};
}

RadioFacts read_node_radio(const View& radio, Complaints& complaints) {
  RadioFacts facts = read_shared_radio(radio);
  check_signal_range(radio, facts, complaints);
  facts.preamble_bytes = radio.small("preamble_bytes");
  facts.sync_bytes = radio.small("sync_bytes");
  facts.crc_bytes = radio.small("crc_bytes");
  facts.overhead_bytes = radio.small("overhead_bytes");
  facts.tx_dbm = read_tx_power(radio, complaints);
  facts.needs_antenna_to_transmit = radio.flag("needs_antenna_to_transmit").value_or(true);
  facts.acknowledged = radio.flag("acknowledged");
  facts.retries = read_retries(radio, complaints);
  if (const auto access = radio.text("access")) {
    facts.access = *access == "csma" ? fleet::Access::csma : fleet::Access::aloha;
  }
  facts.hopping = read_hopping(radio);
  return facts;
}

fleet::ReportKind report_kind(const std::string& word) {
  if (word == "on change") return fleet::ReportKind::on_change;
  if (word == "heartbeat") return fleet::ReportKind::heartbeat;
  return fleet::ReportKind::periodic;
}

fleet::ReportingFacts read_reporting(const View& reporting) {
  fleet::ReportingFacts facts;
  for (const std::string& word : reporting.texts("kinds")) facts.kinds.push_back(report_kind(word));
  facts.events_per_day = reporting.number("events_per_day");
  return facts;
}

fleet::ClockFacts read_clock(const View& clock, Complaints& complaints) {
  constexpr double kPpmInPercent = 1e4;
  fleet::ClockFacts facts;
  facts.tick_s = clock.number("tick_s");
  const auto percent = clock.number("tolerance_pct");
  const auto ppm = clock.number("tolerance_ppm");
  if (percent && ppm) {
    complaints.error(clock.spot_of("tolerance_ppm"), "`tolerance_pct` is given already",
                     "expected `tolerance_pct` or `tolerance_ppm`, not both");
  }
  facts.tolerance_ppm = percent ? std::optional{*percent * kPpmInPercent} : ppm;
  return facts;
}

fleet::SequenceFacts read_sequence(const View& sequence, Complaints& complaints) {
  fleet::SequenceFacts facts;
  facts.bits = sequence.small("bits");
  if (const auto start = sequence.whole("starts_at")) {
    facts.starts_at = static_cast<std::uint64_t>(*start);
  }
  facts.restarts_on_reset = sequence.flag("restarts_on_reset").value_or(true);
  if (facts.bits && facts.starts_at &&
      *facts.starts_at >> static_cast<unsigned>(*facts.bits) != 0) {
    complaints.error(sequence.spot_of("starts_at"),
                     "`starts_at` is " + std::to_string(*facts.starts_at) +
                         ", which a counter of " + std::to_string(*facts.bits) + " bits can't hold",
                     "expected a number below 2^" + std::to_string(*facts.bits));
  }
  return facts;
}

fleet::LoadPhase read_phase(const View& phase, Complaints& complaints) {
  fleet::LoadPhase load;
  load.what = phase.text_or_empty("what");
  const auto ma = phase.number("ma");
  auto ma_at_dbm = phase.number_map("ma_at_dbm");
  if (phase.has("ma") == phase.has("ma_at_dbm")) {
    complaints.error(
        phase.spot_of("ma_at_dbm"),
        phase.has("ma") ? "`ma` is given already" : "neither `ma` nor `ma_at_dbm` is given",
        "expected one of `ma` and `ma_at_dbm`");
  }
  if (ma) {
    load.ma = *ma;
  } else {
    load.ma = std::move(ma_at_dbm);
  }
  if (const auto ms = phase.number("ms")) {
    load.ms = *ms;
  } else {
    load.ms = fleet::AirTime{};
  }
  return load;
}

fleet::EnergyFacts read_energy(const View& energy, Complaints& complaints) {
  fleet::EnergyFacts facts;
  if (const auto cells = energy.table("cells")) {
    facts.cells = {cells->text_or_empty("type"), cells->small("series").value_or(1),
                   cells->small("parallel").value_or(1)};
  }
  facts.sleep_ua = energy.number("sleep_ua");
  facts.cutoff_v = energy.number("cutoff_v");
  facts.start_pulse_ma = energy.number("start_pulse_ma");
  for (const View& phase : energy.tables("phase")) {
    facts.phases.push_back(read_phase(phase, complaints));
  }
  return facts;
}

std::vector<fleet::FieldFacts> read_fields(const View& file, Complaints& complaints) {
  std::vector<fleet::FieldFacts> fields;
  for (const auto& [name, field] : file.named_tables("field")) {
    if (!is_reading_name(name)) {
      complaints.error(field.spot(), describe(Value{name, {}}) + " can't be the name of a field",
                       "expected lower-case letters, digits and `_`, ending in the unit, and no "
                       "other column of logs");
    }
    fields.push_back({name, field.range("plausible"), field.number("resolution"),
                      field.number("accuracy"), field.number("max_rate_per_min")});
  }
  return fields;
}

/// A counter wider than the field that carries it would never be seen to wrap.
void check_counter(const View& file, const fleet::NodeSheet& sheet, Complaints& complaints) {
  if (!sheet.sequence.bits) return;
  for (const fleet::FieldLayout& field : sheet.frame->fields) {
    const auto* place = std::get_if<fleet::AtOctet>(&field.place);
    const auto* number = place ? std::get_if<fleet::NumberForm>(&place->form) : nullptr;
    if (field.role != fleet::FieldRole::sequence || !number) continue;
    const int bits = number->bits ? number->bits->high - number->bits->low + 1 : 8 * number->octets;
    if (*sheet.sequence.bits <= bits) continue;
    complaints.error(file.table("sequence")->spot_of("bits"),
                     "`bits` is " + std::to_string(*sheet.sequence.bits) + ", but " +
                         describe(Value{field.name, {}}) + " in [frame] has " +
                         std::to_string(bits),
                     "expected the width of the counter that frames carry");
  }
}

void read_node_frame(const View& file, fleet::NodeSheet& sheet, Complaints& complaints) {
  const auto frame = file.table("frame");
  if (!frame) return;
  sheet.frame = read_frame(*frame, complaints);
  if (!sheet.frame) return;
  add_frame_field_facts(*frame, *sheet.frame, sheet.fields, complaints);
  check_counter(file, sheet, complaints);
}

fleet::NodeSheet read_node_sheet(const View& file, Complaints& complaints) {
  fleet::NodeSheet sheet;
  if (const auto head = file.table("sheet")) sheet.head = read_head(*head);
  if (const auto radio = file.table("radio")) sheet.radio = read_node_radio(*radio, complaints);
  if (const auto part = file.table("reporting")) sheet.reporting = read_reporting(*part);
  if (const auto clock = file.table("clock")) sheet.clock = read_clock(*clock, complaints);
  if (const auto part = file.table("sequence")) sheet.sequence = read_sequence(*part, complaints);
  if (const auto energy = file.table("energy")) sheet.energy = read_energy(*energy, complaints);
  sheet.fields = read_fields(file, complaints);
  read_node_frame(file, sheet, complaints);
  return sheet;
}

fleet::ReceiverSheet read_receiver_sheet(const View& file, Complaints& complaints) {
  fleet::ReceiverSheet sheet;
  if (const auto head = file.table("sheet")) sheet.head = read_head(*head);
  if (const auto radio = file.table("radio")) {
    sheet.radio = read_shared_radio(*radio);
    check_signal_range(*radio, sheet.radio, complaints);
  }
  if (const auto frame = file.table("frame")) {
    sheet.frame = read_frame(*frame, complaints);
    refuse_frame_field_facts(*frame, complaints);
  }
  return sheet;
}

fleet::CellSheet read_cell_sheet(const View& file) {
  fleet::CellSheet sheet;
  if (const auto head = file.table("sheet")) sheet.head = read_head(*head);
  if (const auto cell = file.table("cell")) {
    sheet.chemistry = cell->text_or_empty("chemistry");
    sheet.nominal_v = cell->number("nominal_v");
    sheet.diameter_mm = cell->number("diameter_mm");
    sheet.height_mm = cell->number("height_mm");
  }
  return sheet;
}

/// What the sheet says it is about; empty, with a complaint, where it doesn't.
std::string kind_of(const Table& file, Complaints& complaints) {
  constexpr std::string_view kWanted =
      R"(expected `kind` in `[sheet]` to be "node", "receiver" or "cell")";
  const Entry* sheet = find_entry(file, "sheet");
  const Table* head = sheet ? std::get_if<Table>(&sheet->value.data) : nullptr;
  if (!head) {
    complaints.error(sheet ? sheet->value.spot : Spot{}, "the sheet does not say what it is about",
                     std::string{kWanted});
    return {};
  }
  const Entry* kind = find_entry(*head, "kind");
  const auto* word = kind ? std::get_if<std::string>(&kind->value.data) : nullptr;
  if (word && (*word == "node" || *word == "receiver" || *word == "cell")) return *word;
  complaints.error(
      kind ? kind->value.spot : sheet->value.spot,
      kind ? "`kind` is " + describe(kind->value) : "the sheet does not say what it is about",
      std::string{kWanted});
  return {};
}

}  // namespace

template <class Sheet>
void SheetShelf::put(std::vector<Sheet>& shelf, Sheet sheet, Origin origin,
                     Complaints& complaints) {
  if (sheet.head.name.empty()) return;  // complained of already
  const auto [known, is_new] =
      origin_by_name_.try_emplace(std::string{origin.kind} + ' ' + sheet.head.name, origin);
  if (is_new) {
    shelf.push_back(std::move(sheet));
    return;
  }
  if (!known->second.built_in) {
    complaints.error(origin.spot,
                     "the " + origin.kind + " sheet " + describe(Value{sheet.head.name, {}}) +
                         " is in " + known->second.place + " already",
                     "expected a name that no other " + origin.kind + " sheet has");
    return;
  }
  known->second = origin;
  *std::find_if(shelf.begin(), shelf.end(), [&sheet](const Sheet& each) {
    return each.head.name == sheet.head.name;
  }) = std::move(sheet);
}

void SheetShelf::read(std::string_view text, const std::string& place, bool built_in,
                      Complaints& complaints) {
  complaints.begin_file(place);
  const auto tree = parse_tree(text, place);
  if (!tree) {
    complaints.error(tree.error());
    return;
  }
  const std::string kind = kind_of(*tree, complaints);
  if (kind.empty()) return;
  const Section& section = kind == "node"       ? kNodeSheetFile
                           : kind == "receiver" ? kReceiverSheetFile
                                                : kCellSheetFile;
  check_section(*tree, section, {}, complaints);
  const View file{*tree, section, {}};
  const auto head = file.table("sheet");
  const Origin origin{kind, place, head->spot_of("name"), built_in};
  if (kind == "node") {
    fleet::NodeSheet sheet = read_node_sheet(file, complaints);
    note_cells(file, sheet, place);
    put(nodes, std::move(sheet), origin, complaints);
  } else if (kind == "receiver") {
    put(receivers, read_receiver_sheet(file, complaints), origin, complaints);
  } else {
    put(cells, read_cell_sheet(file), origin, complaints);
  }
}

void SheetShelf::note_cells(const View& file, const fleet::NodeSheet& sheet,
                            const std::string& place) {
  if (!sheet.energy.cells || sheet.energy.cells->type.empty()) return;
  const Spot spot = file.table("energy")->table("cells")->spot_of("type");
  cell_uses_.push_back({place, spot, sheet.energy.cells->type});
}

void SheetShelf::check_cells(Complaints& complaints) const {
  const auto known = sheet_names(cells);
  for (const CellUse& use : cell_uses_) {
    if (std::find(known.begin(), known.end(), use.type) != known.end()) continue;
    complaints.error({{use.place, use.spot.line, use.spot.column},
                      "there is no cell sheet " + describe(Value{use.type, {}}),
                      nearest_or_known(use.type, known)});
  }
}

}  // namespace fieldfare::site
