// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/binary_encoder.h"

#include <algorithm>

namespace fieldfare::wire {
namespace {

using Anchor = BinaryField::Anchor;

/// Octets from the first of a field to its last.
std::size_t extent(const BinaryField& field, std::size_t count, std::size_t width) {
  return count == 0 ? 0 : (count - 1) * field.stride + width;
}

bool runs_to_the_end(const BinaryField& field) {
  return field.form == BinaryField::Form::octets && field.octets == 0;
}

}  // namespace

Result<fleet::Octets, BodyError> BinaryEncoder::encode() {
  want();
  if (!decide()) return Failure{error_};
  keep_what_stands_before();

  const std::size_t needed = lay_out_front(0);
  const std::size_t front_end = size_for(needed) - layout_.back;
  lay_out_front(front_end);
  const std::size_t size = front_end + layout_.back;
  const bool stretched = front_end > needed &&
                         std::any_of(layout_.fields.begin(), layout_.fields.end(), runs_to_the_end);
  const auto& fixed = layout_.frame->length;
  const bool has_fixed_size =
      fixed && size != static_cast<std::size_t>(*fixed) - layout_.frame->end.size();
  if (stretched || has_fixed_size || size > static_cast<std::size_t>(layout_.frame->most_octets) ||
      lay_out_end(size) > size) {
    return Failure{error_};
  }
  frame_.assign(size, 0);
  if (!write() || !write_length()) return Failure{error_};
  return frame_;
}

/// Finds the fields that the report says something of, and what flags and counts
/// must be for them. Fields refer to earlier ones, so the last come first.
void BinaryEncoder::want() {
  for (std::size_t i = plans_.size(); i-- > 0;) {
    const BinaryField& field = layout_.fields[i];
    Plan& plan = plans_[i];
    const std::size_t given = field.layout->repeat
                                  ? source_.repetitions(field)
                                  : static_cast<std::size_t>(source_.has(field, 0));
    plan.is_wanted = plan.is_wanted || given > 0 || field.layout->equals.has_value();
    if (plan.is_wanted && field.when != BinaryField::kNoField) {
      Plan& other = plans_[field.when];
      const fleet::Presence& presence = *field.layout->when;
      other.is_wanted = true;
      other.needed = presence.bit
                         ? static_cast<std::int64_t>(static_cast<std::uint64_t>(other.needed) |
                                                     std::uint64_t{1} << *presence.bit)
                         : presence.equals.value_or(0);
    }
    if (given > 0 && field.counted_by != BinaryField::kNoField) {
      Plan& other = plans_[field.counted_by];
      other.is_wanted = true;
      other.needed = std::max(other.needed, static_cast<std::int64_t>(given));
    }
  }
}

/// Decides what is there and how often, and what others need to know for that.
bool BinaryEncoder::decide() {
  for (const BinaryField& field : layout_.fields) {
    Plan& plan = plans_[field.field];
    const auto count = count_of(field, references_);
    if (!count) return refuse(field);
    plan.most = is_due(field, references_) ? *count : 0;
    plan.count = plan.most;
    if (field.layout->optional && !field.counts_from_end && !field.layout->equals) {
      const std::size_t given = field.layout->repeat ? source_.repetitions(field)
                                                     : static_cast<std::size_t>(plan.is_wanted);
      plan.count = std::min(plan.most, given);
    }
    if (!field.is_referred_to || plan.count == 0) continue;
    auto bits = bits_of(field, 0);
    if (field.layout->equals) {
      bits = field.shape.bits(*field.layout->equals, 0);
    }
    if (bits && field.shape.kind() == fleet::NumberKind::bcd) bits = NumberShape::decimal(*bits);
    if (!bits) return refuse(field);
    const RawNumber raw = field.shape.kind() == fleet::NumberKind::bcd
                              ? RawNumber::of_unsigned(*bits)
                              : field.shape.number(*bits);
    references_[field.field] = {true, static_cast<std::int64_t>(raw.integer)};
  }
  return true;
}

/// An optional field without a value is written all the same where one stands
/// right behind it.
void BinaryEncoder::keep_what_stands_before() {
  bool something_follows = false;
  for (std::size_t i = plans_.size(); i-- > 0;) {
    Plan& plan = plans_[i];
    if (something_follows) plan.count = plan.most;
    const bool is_end_of_run = layout_.fields[i].anchor != Anchor::behind;
    something_follows = !is_end_of_run && (something_follows || plan.count > 0);
  }
}

/// Gives the fields of the group in front their places; the end of the furthest.
/// Optional ones that lie before `reached_by_others` are there, value or none.
std::size_t BinaryEncoder::lay_out_front(std::size_t reached_by_others) {
  std::size_t cursor = layout_.front;
  std::size_t reached = layout_.front;
  for (const BinaryField& field : layout_.fields) {
    if (field.counts_from_end) continue;
    Plan& plan = plans_[field.field];
    plan.at = field.anchor == Anchor::front ? static_cast<std::size_t>(field.at) : cursor;
    std::size_t width = field.octets;
    if (width > 0) {
      while (plan.count < plan.most &&
             plan.at + extent(field, plan.count + 1, width) <= reached_by_others) {
        ++plan.count;
      }
    } else if (plan.count > 0) {
      width = content(field, 0).value_or(fleet::Octets{}).size();
    }
    cursor = plan.at + extent(field, plan.count, width);
    if (plan.count > 0) reached = std::max(reached, cursor);
  }
  return reached;
}

/// The same for those that count from the end.
std::size_t BinaryEncoder::lay_out_end(std::size_t size) {
  std::size_t cursor = size;
  std::size_t reached = 0;
  for (const BinaryField& field : layout_.fields) {
    if (!field.counts_from_end) continue;
    Plan& plan = plans_[field.field];
    if (field.anchor == Anchor::end) cursor = size - static_cast<std::size_t>(-field.at);
    plan.at = cursor;
    const std::size_t width = field.octets > 0 || plan.count == 0
                                  ? field.octets
                                  : content(field, 0).value_or(fleet::Octets{}).size();
    cursor += extent(field, plan.count, width);
    reached = std::max(reached, cursor);
  }
  return reached;
}

/// Octets of the whole frame where the group in front needs so many.
std::size_t BinaryEncoder::size_for(std::size_t front_end) const {
  const fleet::FrameFacts& frame = *layout_.frame;
  std::size_t size = front_end + layout_.back;
  if (frame.prefix) {
    size = std::max(size, static_cast<std::size_t>(frame.prefix->at + frame.prefix->octets));
  }
  if (frame.check && frame.check->at >= 0) {
    const int end = frame.check->at + fleet::sent_octets(*frame.check);
    size = std::max(size, static_cast<std::size_t>(end));
  }
  if (frame.length) {
    size = std::max(size, static_cast<std::size_t>(*frame.length) - frame.end.size());
  }
  return size;
}

bool BinaryEncoder::write() {
  for (const BinaryField& field : layout_.fields) {
    const Plan& plan = plans_[field.field];
    for (std::size_t i = 0; i < plan.count; ++i) {
      if (!write_value(field, i, plan.at + i * field.stride)) return refuse(field);
    }
  }
  std::copy(layout_.frame->start.begin(), layout_.frame->start.end(), frame_.begin());
  return true;
}

bool BinaryEncoder::write_value(const BinaryField& field, std::size_t repetition, std::size_t at) {
  if (field.form == BinaryField::Form::number && !field.layout->equals) {
    const auto bits = bits_of(field, repetition);
    if (!bits || at + field.octets > frame_.size()) return false;
    field.shape.put(frame_, at, *bits);
    return true;
  }
  const auto octets = content(field, repetition);
  if (!octets || at + octets->size() > frame_.size()) return false;
  std::copy(octets->begin(), octets->end(), frame_.begin() + static_cast<std::ptrdiff_t>(at));
  return true;
}

/// False where the length has no room for it.
bool BinaryEncoder::write_length() {
  const auto& prefix = layout_.frame->prefix;
  if (!prefix) return true;
  const NumberShape shape{
      {fleet::NumberKind::unsigned_integer, prefix->octets, prefix->order, std::nullopt}};
  const auto bits =
      shape.bits_for(RawNumber::of_signed(static_cast<std::int64_t>(frame_.size()) - prefix->adds));
  if (!bits) return false;
  shape.put(frame_, static_cast<std::size_t>(prefix->at), *bits);
  return true;
}

bool BinaryEncoder::refuse(const BinaryField& field) {
  error_.field = field.field;
  return false;
}

}  // namespace fieldfare::wire
