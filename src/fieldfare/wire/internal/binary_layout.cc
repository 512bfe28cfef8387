// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/binary_layout.h"

#include <algorithm>
#include <limits>
#include <string>

namespace fieldfare::wire {
namespace {

std::size_t index_of(const fleet::FrameFacts& frame, const std::string& name) {
  const auto found =
      std::find_if(frame.fields.begin(), frame.fields.end(),
                   [&](const fleet::FieldLayout& field) { return field.name == name; });
  return static_cast<std::size_t>(found - frame.fields.begin());
}

/// Octets in front that are the framing's or the check's.
std::size_t front_of(const fleet::FrameFacts& frame) {
  auto front = static_cast<int>(frame.start.size());
  for (int pass = 0; pass < 2; ++pass) {
    if (frame.prefix && frame.prefix->at == front) front += frame.prefix->octets;
    if (frame.check && frame.check->at == front) front += fleet::sent_octets(*frame.check);
  }
  return static_cast<std::size_t>(front);
}

}  // namespace

BinaryField::BinaryField(const fleet::FrameFacts& frame, std::size_t index)
    : FieldRule{frame, index} {
  const auto& place = std::get<fleet::AtOctet>(layout->place);
  if (place.at) {
    at = *place.at;
    anchor = at < 0 ? Anchor::end : Anchor::front;
  }
  octets = static_cast<std::size_t>(fleet::octets_of(place.form).value_or(0));
  if (const auto* const number = std::get_if<fleet::NumberForm>(&place.form)) {
    shape = NumberShape{*number};
  } else if (const auto* const run = std::get_if<fleet::OctetsForm>(&place.form)) {
    form = Form::octets;
    // Addresses and numbers of networks are numbers of all their octets.
    if (role == fleet::FieldRole::address || role == fleet::FieldRole::network) {
      shape = NumberShape{{fleet::NumberKind::unsigned_integer, *run->octets, run->order, {}}};
    }
  } else {
    form = Form::text;
  }
  if (layout->when) when = index_of(frame, layout->when->field);
  if (layout->repeat) {
    stride = static_cast<std::size_t>(layout->repeat->stride);
    if (const int* const count = std::get_if<int>(&layout->repeat->count)) {
      fixed_count = static_cast<std::size_t>(*count);
    } else {
      counted_by = index_of(frame, std::get<std::string>(layout->repeat->count));
    }
  }
  if (stride == 0) stride = octets;
  if (layout->when || layout->repeat || layout->equals) return;
  if (form == Form::octets && role == fleet::FieldRole::address) way = Way::plain_address;
  if (form != Form::number || shape.kind() == fleet::NumberKind::bcd) return;
  if (role != fleet::FieldRole::address) way = Way::plain_number;
}

BinaryLayout::BinaryLayout(const fleet::FrameFacts& facts) : frame{&facts}, front{front_of(facts)} {
  std::ptrdiff_t back_octets = 0;
  if (facts.check && facts.check->at < 0) back_octets = -facts.check->at;
  fields.reserve(facts.fields.size());
  for (std::size_t i = 0; i < facts.fields.size(); ++i) {
    BinaryField& field = fields.emplace_back(facts, i);
    const bool continues = field.anchor == BinaryField::Anchor::behind && i > 0;
    field.counts_from_end =
        continues ? fields[i - 1].counts_from_end : field.anchor == BinaryField::Anchor::end;
    if (field.anchor == BinaryField::Anchor::end) back_octets = std::max(back_octets, -field.at);
    for (const std::size_t other : {field.when, field.counted_by}) {
      if (other == BinaryField::kNoField) continue;
      fields[other].is_referred_to = true;
      fields[other].way = BinaryField::Way::any;
    }
  }
  back = static_cast<std::size_t>(back_octets);
}

bool is_due(const BinaryField& field, const std::vector<Reference>& references) {
  if (field.when == BinaryField::kNoField) return true;
  const Reference& other = references[field.when];
  const fleet::Presence& presence = *field.layout->when;
  if (!other.is_there) return false;
  if (presence.bit) return (static_cast<std::uint64_t>(other.raw) >> *presence.bit & 1) != 0;
  return other.raw == presence.equals;
}

std::optional<std::size_t> count_of(const BinaryField& field,
                                    const std::vector<Reference>& references) {
  if (field.counted_by == BinaryField::kNoField) return field.fixed_count;
  const Reference& other = references[field.counted_by];
  if (!other.is_there) return 0;
  // Negative ones are larger still.
  const auto count = static_cast<std::uint64_t>(other.raw);
  return count > kMostRepetitions ? std::nullopt : std::optional<std::size_t>{count};
}

}  // namespace fieldfare::wire
