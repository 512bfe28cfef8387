// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/fleet/frame.h"

#include "fieldfare/base/crc.h"
#include "fieldfare/fleet/internal/frame_faults.h"

namespace fieldfare::fleet {

int sent_octets(const CheckFacts& check) {
  return check.as_hex_digits ? 2 * check.octets : check.octets;
}

std::optional<int> octets_of(const BinaryForm& form) {
  if (const auto* const number = std::get_if<NumberForm>(&form)) return number->octets;
  if (const auto* const octets = std::get_if<OctetsForm>(&form)) return octets->octets;
  return std::get<TextForm>(form).octets;
}

std::string_view reading_name(const FieldLayout& field) {
  return field.role == FieldRole::network ? kNetworkReading : std::string_view{field.name};
}

std::string repeated_name(std::string_view name, std::size_t repetition) {
  const std::size_t unit = name.rfind('_');
  const std::string number = "_" + std::to_string(repetition + 1);
  if (unit == std::string_view::npos) return std::string{name} + number;
  return std::string{name.substr(0, unit)} + number + std::string{name.substr(unit)};
}

namespace internal {
namespace {

bool is_within(int offset, int most) { return offset >= -most && offset <= most; }

bool has_delimiters(const FrameFacts& frame) {
  return frame.framing == Framing::delimited || frame.framing == Framing::length_prefixed;
}

/// What is set that the framing makes no use of.
void find_idle_framing_keys(Faults& faults) {
  const FrameFacts& frame = faults.frame();
  if (!frame.start.empty() && !has_delimiters(frame)) {
    faults.about_frame("start", "this framing has no start bytes of its own",
                       "framing `delimited` or `length-prefixed`, or a field that equals them");
  }
  if (!frame.end.empty() && frame.framing != Framing::delimited) {
    faults.about_frame("end", "this framing has no end bytes of its own",
                       "framing `delimited`, or a field that equals them");
  }
  if (frame.length && frame.framing != Framing::delimited) {
    faults.about_frame("length", "this framing tells the length by itself",
                       "framing `delimited`, or no length");
  }
  if (frame.prefix && frame.framing != Framing::length_prefixed) {
    faults.about_frame("length", "this framing has no length in front",
                       "framing `length-prefixed`, or `length` as a number");
  }
}

void find_delimiter_faults(Faults& faults) {
  const FrameFacts& frame = faults.frame();
  for (const auto& [key, octets] : {std::pair{"start", &frame.start}, {"end", &frame.end}}) {
    if (octets->size() > kMostDelimiterOctets) {
      faults.about_frame(key, "too many bytes",
                         "at most " + std::to_string(kMostDelimiterOctets) + " bytes");
    }
  }
  const auto delimiters = static_cast<int>(frame.start.size() + frame.end.size());
  if (delimiters >= frame.most_octets) {
    faults.about_frame("most_bytes", "no room between start and end",
                       "more than " + std::to_string(delimiters) + " bytes");
  }
}

void find_delimited_faults(Faults& faults) {
  const FrameFacts& frame = faults.frame();
  if (frame.start.empty() && frame.end.empty() && !frame.length) {
    faults.about_frame("framing", "nothing tells where a delimited frame begins or ends",
                       "`start`, `end` or `length`");
  }
  if (!frame.length) return;
  const auto delimiters = static_cast<int>(frame.start.size() + frame.end.size());
  if (*frame.length <= delimiters ||
      *frame.length - static_cast<int>(frame.end.size()) > frame.most_octets) {
    faults.about_frame("length", "no frame can have this length",
                       "bytes of the whole frame, start and end included: " +
                           std::to_string(delimiters + 1) + " to `most_bytes`");
  }
  if (delimiters == 0 && !frame.check) {
    faults.about_frame("length", "after a lost byte nothing tells where frames begin",
                       "a length together with `start`, `end` or `check`");
  }
}

void find_prefix_faults(Faults& faults) {
  const FrameFacts& frame = faults.frame();
  if (!frame.prefix) {
    faults.about_frame("length", "nothing tells where the length stands",
                       "`length = { at = …, type = … }`, where the frame says it");
    return;
  }
  const LengthPrefix& prefix = *frame.prefix;
  if (prefix.octets < 1 || prefix.octets > 4) {
    faults.about_frame("length", "no width of a length", "1 to 4 bytes");
    return;
  }
  const auto first = static_cast<int>(frame.start.size());
  if (prefix.at < first || prefix.at > frame.most_octets - prefix.octets) {
    faults.about_frame("length", "the length doesn't stand in the frame",
                       "a place behind `start` and within `most_bytes`, counted from 0");
    return;
  }
  if (!is_within(prefix.adds, kMostFrameOctets)) {
    faults.about_frame("length", "`adds` is out of range", "-65536 to 65536");
    return;
  }
  const std::int64_t largest = (std::int64_t{1} << 8 * prefix.octets) - 1;
  const int head = prefix.at + prefix.octets;
  if (largest + prefix.adds < head || prefix.adds > frame.most_octets) {
    faults.about_frame("length", "no length that can be sent gives a possible frame",
                       "`adds`: bytes of the whole frame less the number sent");
  }
}

/// Says so where the frame is unbounded: then no place in it can be judged.
bool is_bounded(Faults& faults) {
  const int most = faults.frame().most_octets;
  if (most >= 1 && most <= kMostFrameOctets) return true;
  faults.about_frame("most_bytes", "no bound for a frame",
                     "1 to " + std::to_string(kMostFrameOctets));
  return false;
}

void find_framing_faults(Faults& faults) {
  const FrameFacts& frame = faults.frame();
  find_idle_framing_keys(faults);
  if (has_delimiters(frame)) find_delimiter_faults(faults);
  if (frame.framing == Framing::delimited) find_delimited_faults(faults);
  if (frame.framing == Framing::length_prefixed) find_prefix_faults(faults);
}

/// False where the check's width is wrong, so that its place can't be judged.
bool find_check_width_faults(Faults& faults, const CheckFacts& check) {
  int narrowest = 1;
  int widest = 1;
  if (check.kind == CheckKind::crc) {
    const CrcModel* const model = find_crc_model(check.crc);
    if (model == nullptr) {
      faults.about_frame("check", "no CRC called `" + check.crc + "` is known",
                         "a name of the usual catalogue, such as crc-16/ibm-sdlc, "
                         "crc-16/modbus, crc-8/smbus or crc-32/iso-hdlc");
      return false;
    }
    narrowest = widest = static_cast<int>(model->width / 8);
  } else if (check.kind == CheckKind::sum) {
    widest = 2;
  }
  if (check.octets < narrowest || check.octets > widest) {
    faults.about_frame("check", "the check doesn't have this width",
                       narrowest == widest ? std::to_string(widest) + " bytes" : "1 or 2 bytes");
    return false;
  }
  if (check.kind != CheckKind::sum && check.complement != Complement::none) {
    faults.about_frame("check", "only sums are sent as complement", "no complement, or a sum");
  }
  return true;
}

/// True where two offsets count from the same end of the frame, and `to` is not
/// behind `from`.
bool is_empty_span(int from, int to) { return (from < 0) == (to < 0) && to <= from; }

void find_check_place_faults(Faults& faults, const CheckFacts& check) {
  const FrameFacts& frame = faults.frame();
  const int sent = sent_octets(check);
  const int most = frame.most_octets;
  if (!is_within(check.at, most) || (check.at < 0 ? check.at > -sent : check.at > most - sent)) {
    faults.about_frame("check", "the check lies outside the frame",
                       "a place within `most_bytes`; at the end it is -" + std::to_string(sent));
    return;
  }
  if (!is_within(check.from, most) || !is_within(check.to, most)) {
    faults.about_frame("check", "what is checked lies outside the frame",
                       "bytes within `most_bytes`");
    return;
  }
  const bool to_is_said = check.to != 0;
  if (to_is_said ? is_empty_span(check.from, check.to) : check.at == check.from) {
    faults.about_frame("check", "it would check no bytes at all",
                       "`from` before `to`, which is one past the last byte checked");
    return;
  }
  const bool same_end = (check.at < 0) == (check.from < 0) && (check.at < 0) == (check.to < 0);
  if (to_is_said && same_end && check.from < check.at + sent && check.at < check.to) {
    faults.about_frame("check", "the check stands inside what it checks",
                       "bytes before the check, or behind it");
  }
  if (frame.body != Body::binary && check.at != -sent) {
    faults.about_frame("check", "in this body a check stands at the end",
                       "no place, or -" + std::to_string(sent));
  }
}

bool is_separating(char sign) {
  const bool is_digit = sign >= '0' && sign <= '9';
  const bool is_letter = (sign >= 'A' && sign <= 'Z') || (sign >= 'a' && sign <= 'z');
  const bool is_printed = sign >= ' ' && sign < '\x7F';
  return sign == '\t' || (is_printed && !is_digit && !is_letter);
}

void find_body_faults(Faults& faults) {
  const FrameFacts& frame = faults.frame();
  const bool is_tree = frame.body == Body::json || frame.body == Body::cbor;
  if (!frame.each.empty() && !is_tree) {
    faults.about_frame("each", "this body has no list to point to", "body `json` or `cbor`");
  } else if (const std::string fault = pointer_fault(frame.each); !fault.empty()) {
    faults.about_frame("each", fault, "a pointer such as /reports (RFC 6901)");
  }
  if (frame.exact_length && frame.body != Body::binary) {
    faults.about_frame("exact_length", "this body has no fixed length", "body `binary`");
  }
  if (frame.decimal != '.' && frame.decimal != ',') {
    faults.about_frame("decimal", "no sign that numbers have before decimals",
                       "a point or a comma");
  } else if (frame.decimal != '.' && frame.body != Body::text) {
    faults.about_frame("decimal", "this body has its own way to write numbers", "body `text`");
  }
  if (frame.body != Body::text) return;
  if (!is_separating(frame.separator)) {
    faults.about_frame("separator", "can't stand between columns",
                       "a blank, a tab or a sign that is no letter or digit");
  }
  if (!is_separating(frame.assignment)) {
    faults.about_frame("assignment", "can't stand between key and value",
                       "a sign that is no letter or digit");
  } else if (frame.assignment == frame.separator) {
    faults.about_frame("assignment", "is the separator too", "two different signs");
  }
  if (frame.decimal == frame.separator || frame.decimal == frame.assignment) {
    faults.about_frame("decimal", "the sign before decimals separates columns or keys, too",
                       "two different signs, such as a blank or a semicolon as `separator`");
  }
}

}  // namespace
}  // namespace internal

std::vector<FrameFault> faults_of(const FrameFacts& frame) {
  internal::Faults faults{frame};
  if (!internal::is_bounded(faults)) return faults.take();
  internal::find_framing_faults(faults);
  if (frame.check && internal::find_check_width_faults(faults, *frame.check)) {
    internal::find_check_place_faults(faults, *frame.check);
  }
  internal::find_body_faults(faults);
  internal::find_field_faults(faults);
  return faults.take();
}

}  // namespace fieldfare::fleet
