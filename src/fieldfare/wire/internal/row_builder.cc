// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/row_builder.h"

#include <algorithm>

namespace fieldfare::wire {
namespace {

bool has_control_character(std::string_view name) {
  return std::any_of(name.begin(), name.end(),
                     [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
}

}  // namespace

void RowBuilder::begin() {
  // Field by field: clearing the whole, values of absent fields and all, is a
  // tenth of the time that a row takes.
  hearing_.arrived_at.reset();
  hearing_.sequence.reset();
  hearing_.rssi_dbm.reset();
  hearing_.snr_db.reset();
  hearing_.lqi.reset();
  hearing_.noise_dbm.reset();
  hearing_.supply_v.reset();
  hearing_.implausible = false;
  readings_.clear();
  has_time_ = false;
  node_ = {};
  receiver_ = {receiver_if_not_given_, nullptr};
  blamed_ = nullptr;
}

Trouble RowBuilder::set(const Column& column, std::string_view text) {
  switch (column.kind) {
    case ColumnKind::time:
      return set_time(text);
    case ColumnKind::arrived_at:
      return set_arrival(text);
    case ColumnKind::node:
      node_ = {text, &column};
      return Trouble::none;
    case ColumnKind::receiver:
      receiver_ = {text, &column};
      return Trouble::none;
    case ColumnKind::sequence:
      return set_counter(text);
    case ColumnKind::ignored:
      return Trouble::none;
    default:
      return set_number(column, text);
  }
}

Trouble RowBuilder::finish() {
  if (!has_time_) return Trouble::no_time;
  if (node_.text.empty()) return Trouble::no_node;
  if (!look_up_node()) {
    blamed_ = node_.column;
    return Trouble::bad_name;
  }
  if (!look_up_receiver()) {
    blamed_ = receiver_.column;
    return Trouble::bad_name;
  }
  hearing_.readings = readings_;
  return Trouble::none;
}

Trouble RowBuilder::set_time(std::string_view text) {
  const std::optional<Instant> time = time_reader_.read(text);
  if (!time) return Trouble::bad_time;
  if (!is_believed(*time)) return Trouble::clock_not_believed;
  hearing_.time = *time;
  has_time_ = true;
  return Trouble::none;
}

Trouble RowBuilder::set_arrival(std::string_view text) {
  const std::optional<Instant> time = arrival_reader_.read(text);
  if (!time) return Trouble::bad_time;
  if (!is_believed(*time)) return Trouble::clock_not_believed;
  hearing_.arrived_at = *time;
  return Trouble::none;
}

bool RowBuilder::look_up_node() {
  if (const fleet::NodeIndex* known = known_nodes_.find(node_.text)) {
    hearing_.node = *known;
    return true;
  }
  if (has_control_character(node_.text)) return false;
  const std::optional<fleet::NodeIndex> node = labels_.node(node_.text);
  if (!node) return false;
  known_nodes_.put(node_.text, *node);
  hearing_.node = *node;
  return true;
}

bool RowBuilder::look_up_receiver() {
  if (const fleet::ReceiverIndex* known = known_receivers_.find(receiver_.text)) {
    hearing_.receiver = *known;
    return true;
  }
  if (has_control_character(receiver_.text)) return false;
  const std::optional<fleet::ReceiverIndex> receiver = labels_.receiver(receiver_.text);
  if (!receiver) return false;
  known_receivers_.put(receiver_.text, *receiver);
  hearing_.receiver = *receiver;
  return true;
}

Trouble RowBuilder::set_counter(std::string_view text) {
  const Parsed<std::uint64_t> sequence = parse_counter(text);
  if (!sequence.ok) return Trouble::bad_counter;
  hearing_.sequence = sequence.value;
  return Trouble::none;
}

Trouble RowBuilder::set_number(const Column& column, std::string_view text) {
  const auto [value, ok] = parse_number(text, grammar_);
  if (!ok) {
    return column.kind == ColumnKind::reading_maybe ? Trouble::none : Trouble::bad_number;
  }
  if (value < column.plausible.low || value > column.plausible.high) hearing_.implausible = true;
  switch (column.kind) {
    case ColumnKind::rssi_dbm:
      hearing_.rssi_dbm = value;
      break;
    case ColumnKind::snr_db:
      hearing_.snr_db = value;
      break;
    case ColumnKind::lqi:
      hearing_.lqi = value;
      break;
    case ColumnKind::noise_dbm:
      hearing_.noise_dbm = value;
      break;
    case ColumnKind::supply_v:
      hearing_.supply_v = value;
      break;
    default:
      readings_.push_back({column.field, value});
  }
  return Trouble::none;
}

}  // namespace fieldfare::wire
