// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/binary_decoder.h"

#include <algorithm>

namespace fieldfare::wire {
namespace {

std::string_view text_of(std::span<const std::uint8_t> octets) {
  return {reinterpret_cast<const char*>(octets.data()), octets.size()};
}

}  // namespace

std::optional<BodyError> BinaryDecoder::decode(std::span<const std::uint8_t> frame,
                                               ReportSink& sink) {
  frame_ = frame;
  front_end_ = frame.size() - std::min(layout_.back, frame.size());
  cursor_ = reached_ = layout_.front;
  filler_.begin();
  for (const BinaryField& field : layout_.fields) {
    if (!(field.way == BinaryField::Way::any ? take(field) : take_plain(field))) return error_;
  }
  if (layout_.frame->exact_length && reached_ < front_end_) {
    return BodyError{BodyFault::too_long, reached_, std::nullopt};
  }
  sink.report(filler_.finish());
  return std::nullopt;
}

bool BinaryDecoder::take_plain(const BinaryField& field) {
  const std::size_t at = place_of(field);
  const std::size_t end = at + field.octets;
  if (end > limit_of(field)) return lies_outside(field, at);
  move_to(field, end);
  const std::uint64_t bits = field.shape.bits(frame_, at);
  if (field.way == BinaryField::Way::plain_address) {
    filler_.take_address(bits, field.shape.digits());
    return true;
  }
  const RawNumber raw = field.shape.number(bits);
  return filler_.take_number(field, 0, raw) || fail(BodyFault::bad_value, field, at);
}

/// Fields with conditions, repetitions, constants, and all that are no numbers.
bool BinaryDecoder::take(const BinaryField& field) {
  if (field.is_referred_to) references_[field.field].is_there = false;
  const std::size_t begin = place_of(field);
  if (!is_due(field, references_)) {
    if (field.anchor != BinaryField::Anchor::behind) cursor_ = begin;
    return true;
  }
  const auto count = count_of(field, references_);
  if (!count) return fail(BodyFault::too_many, field, begin);
  cursor_ = begin;
  for (std::size_t i = 0; i < *count; ++i) {
    const std::size_t at = begin + i * field.stride;
    if (at + field.octets > limit_of(field)) return lies_outside(field, at);
    move_to(field, at + field.octets);
    if (!take_value(field, static_cast<std::uint16_t>(i), at)) return false;
  }
  return true;
}

/// Optional fields may lie past the end, and all behind them then do, too.
bool BinaryDecoder::lies_outside(const BinaryField& field, std::size_t at) {
  if (!field.layout->optional) return fail(BodyFault::too_short, field, frame_.size());
  cursor_ = std::max(at, kOutside);
  return true;
}

bool BinaryDecoder::fail(BodyFault fault, const BinaryField& field, std::size_t at) {
  error_ = {fault, std::min(at, frame_.size()), field.field};
  return false;
}

void BinaryDecoder::move_to(const BinaryField& field, std::size_t end) {
  cursor_ = end;
  if (!field.counts_from_end) reached_ = std::max(reached_, end);
}

bool BinaryDecoder::take_value(const BinaryField& field, std::uint16_t repetition, std::size_t at) {
  std::size_t end = at + field.octets;
  if (field.octets == 0) {
    end = limit_of(field);
    if (field.form == BinaryField::Form::text) {
      const auto rest = text_of(frame_.subspan(at, end - at));
      end = at + std::min(rest.size(), rest.find('\0'));
      move_to(field, std::min(end + 1, limit_of(field)));
    } else {
      move_to(field, end);
    }
  }
  if (field.form == BinaryField::Form::text) return take_text(field, repetition, at, end);
  if (field.layout->equals &&
      !std::ranges::equal(frame_.subspan(at, end - at), *field.layout->equals)) {
    return fail(BodyFault::another_kind, field, at);
  }
  if (field.form == BinaryField::Form::octets) return take_octets(field, at, end);
  return take_number(field, repetition, at);
}

bool BinaryDecoder::take_number(const BinaryField& field, std::uint16_t repetition,
                                std::size_t at) {
  const std::uint64_t bits = field.shape.bits(frame_, at);
  RawNumber raw;
  if (field.shape.kind() == fleet::NumberKind::bcd) {
    const auto value = NumberShape::decimal(bits);
    if (!value) return fail(BodyFault::bad_value, field, at);
    raw = RawNumber::of_unsigned(*value);
  } else {
    raw = field.shape.number(bits);
  }
  if (field.is_referred_to) {
    references_[field.field] = {true, static_cast<std::int64_t>(raw.integer)};
  }
  if (field.role == fleet::FieldRole::address) {
    // Decimal digits are shown as they are: their bits are hex digits.
    if (!field.is_missing(raw)) filler_.take_address(bits, field.shape.digits());
    return true;
  }
  return filler_.take_number(field, repetition, raw) || fail(BodyFault::bad_value, field, at);
}

bool BinaryDecoder::take_octets(const BinaryField& field, std::size_t at, std::size_t end) {
  const auto octets = frame_.subspan(at, end - at);
  if (field.role == fleet::FieldRole::address) {
    filler_.take_address(field.shape.bits(frame_, at), field.shape.digits());
    return true;
  }
  if (field.role == fleet::FieldRole::network) {
    return filler_.take_number(field, 0, RawNumber::of_unsigned(field.shape.bits(frame_, at)));
  }
  return filler_.take_octets(field, octets) || fail(BodyFault::bad_value, field, at);
}

bool BinaryDecoder::take_text(const BinaryField& field, std::uint16_t repetition, std::size_t at,
                              std::size_t end) {
  const auto octets = frame_.subspan(at, end - at);
  const auto text = text_of(octets).substr(0, text_of(octets).find('\0'));
  if (field.layout->equals) {
    const std::string_view constant = text_of(*field.layout->equals);
    if (text != constant) return fail(BodyFault::another_kind, field, at);
  }
  if (text.empty() && field.layout->optional) return true;
  return filler_.take_text(field, repetition, text) || fail(BodyFault::bad_value, field, at);
}

}  // namespace fieldfare::wire
