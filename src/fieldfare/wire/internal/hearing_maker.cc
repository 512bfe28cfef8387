// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/hearing_maker.h"

#include <cmath>

#include "fieldfare/wire/internal/time_reader.h"

namespace fieldfare::wire {
namespace {

constexpr Duration kMostAhead{24LL * 3600 * 1'000'000'000};

template <class Value>
std::optional<Value> first_of(const std::optional<Value>& inner,
                              const std::optional<Value> ReportValues::*outer_member,
                              const ReportValues* outer) {
  if (inner || outer == nullptr) return inner;
  return outer->*outer_member;
}

bool outside(const std::optional<double>& value, const PlausibleRange& range) {
  return value && (std::isnan(*value) || *value < range.low || *value > range.high);
}

/// The ranges of what every hearing can have, looked up once.
struct CommonRanges {
  PlausibleRange rssi = plausible_range(column_name(ColumnKind::rssi_dbm));
  PlausibleRange snr = plausible_range(column_name(ColumnKind::snr_db));
  PlausibleRange lqi = plausible_range(column_name(ColumnKind::lqi));
  PlausibleRange noise = plausible_range(column_name(ColumnKind::noise_dbm));
  PlausibleRange supply = plausible_range(column_name(ColumnKind::supply_v));
};

bool is_implausible(const fleet::Hearing& hearing) {
  static const CommonRanges ranges;
  return outside(hearing.rssi_dbm, ranges.rssi) || outside(hearing.snr_db, ranges.snr) ||
         outside(hearing.lqi, ranges.lqi) || outside(hearing.noise_dbm, ranges.noise) ||
         outside(hearing.supply_v, ranges.supply);
}

}  // namespace

std::string_view refusal_code(Refusal refusal) {
  switch (refusal) {
    case Refusal::none:
      return "none";
    case Refusal::no_name:
      return "no-name";
    case Refusal::too_many_names:
      return "too-many-names";
    case Refusal::time_ahead:
      return "time-ahead";
  }
  return "none";
}

std::string_view refusal_text(Refusal refusal) {
  switch (refusal) {
    case Refusal::none:
      return "";
    case Refusal::no_name:
      return "the report says neither address nor name of its node";
    case Refusal::too_many_names:
      return "there are more names of nodes, receivers or readings than can be kept";
    case Refusal::time_ahead:
      return "the report says that it was heard more than a day after it arrived";
  }
  return "";
}

HearingMaker::HearingMaker(const fleet::FrameFacts& frame, fleet::Labels& labels,
                           std::string_view receiver)
    : frame_{&frame}, labels_{&labels}, receiver_{receiver}, names_(frame.fields.size()) {}

Refusal HearingMaker::make(const ReportValues& report, const ReportValues* outer,
                           const Delivery& delivery, fleet::Hearing& hearing,
                           std::vector<fleet::Reading>& readings) {
  hearing = {};
  if (!set_time(report, outer, delivery, hearing)) return Refusal::time_ahead;
  const auto node = node_of(report, outer);
  if (!node) {
    const bool named = report.address || !report.node_name.empty() ||
                       (outer && (outer->address || !outer->node_name.empty()));
    return named ? Refusal::too_many_names : Refusal::no_name;
  }
  const std::string_view by_name =
      report.receiver.empty() && outer ? outer->receiver : report.receiver;
  const auto receiver = receiver_of(by_name);
  if (!receiver) return Refusal::too_many_names;
  hearing.node = *node;
  hearing.receiver = *receiver;
  hearing.sequence = first_of(report.sequence, &ReportValues::sequence, outer);
  hearing.rssi_dbm = first_of(report.rssi_dbm, &ReportValues::rssi_dbm, outer);
  hearing.snr_db = first_of(report.snr_db, &ReportValues::snr_db, outer);
  hearing.lqi = first_of(report.lqi, &ReportValues::lqi, outer);
  hearing.noise_dbm = first_of(report.noise_dbm, &ReportValues::noise_dbm, outer);
  hearing.supply_v = first_of(report.supply_v, &ReportValues::supply_v, outer);
  hearing.implausible = is_implausible(hearing);
  for (const FieldValue& value : report.readings) {
    const Name* name = name_of(value);
    if (name == nullptr) return Refusal::too_many_names;
    readings.push_back({name->index, value.value});
    if (outside(value.value, name->plausible)) hearing.implausible = true;
  }
  return Refusal::none;
}

std::optional<fleet::NodeIndex> HearingMaker::node_of(const ReportValues& report,
                                                      const ReportValues* outer) {
  if (report.address) return labels_->node(*report.address);
  if (!report.node_name.empty()) return labels_->node(report.node_name);
  return outer ? node_of(*outer, nullptr) : std::nullopt;
}

std::optional<fleet::ReceiverIndex> HearingMaker::receiver_of(std::string_view name) {
  if (!name.empty()) return labels_->receiver(name);
  if (!receiver_index_) receiver_index_ = labels_->receiver(receiver_);
  return receiver_index_;
}

/// False where the report says a time that has yet to come. A clock that was never
/// set says nothing: the arrival stands in for it.
bool HearingMaker::set_time(const ReportValues& report, const ReportValues* outer,
                            const Delivery& delivery, fleet::Hearing& hearing) {
  auto time = first_of(report.time, &ReportValues::time, outer);
  const auto age = first_of(report.age, &ReportValues::age, outer);
  if (time && !is_believed(*time)) time.reset();
  if (!time && age && age->ns >= 0) time = delivery.at - *age;
  knew_the_time_ = time.has_value();
  hearing.time = time.value_or(delivery.at);
  if (hearing.time - delivery.at > kMostAhead) return false;
  if (hearing.time < delivery.at) hearing.arrived_at = delivery.at;
  hearing.batched = !knew_the_time_ && delivery.held_back;
  return true;
}

const HearingMaker::Name* HearingMaker::name_of(const FieldValue& value) {
  auto& names = names_[value.field];
  if (names.size() <= value.repetition) names.resize(std::size_t{value.repetition} + 1);
  auto& known = names[value.repetition];
  if (!known) {
    const fleet::FieldLayout& field = frame_->fields[value.field];
    const std::string name = field.repeat ? fleet::repeated_name(field.name, value.repetition)
                                          : std::string{fleet::reading_name(field)};
    const auto index = labels_->field(name);
    if (!index) return nullptr;
    known = Name{*index, plausible_range(name)};
  }
  return &*known;
}

}  // namespace fieldfare::wire
