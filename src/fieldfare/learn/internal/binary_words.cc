// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/binary_words.h"

#include <fmt/format.h>

namespace fieldfare::learn {
namespace {

using fleet::FrameFacts;
using fleet::Framing;

const char* order_text(fleet::ByteOrder order) {
  return order == fleet::ByteOrder::little ? "low octet first" : "high octet first";
}

std::string prefixed_text(const FrameFacts& facts) {
  const fleet::LengthPrefix& prefix = *facts.prefix;
  std::string out = "frames that say their length ";
  out += prefix.octets == 1 ? fmt::format("in octet {}", prefix.at)
                            : fmt::format("in octets {} and {}, {}", prefix.at, prefix.at + 1,
                                          order_text(prefix.order));
  if (prefix.adds != 0) {
    out += fmt::format(" ({} octets {} than the number)", std::abs(prefix.adds),
                       prefix.adds > 0 ? "more" : "fewer");
  }
  if (!facts.start.empty()) out += " and begin with " + hex_text(facts.start);
  return out;
}

std::string delimited_text(const FrameFacts& facts) {
  std::string out = "frames that ";
  const char* joint = "";
  if (!facts.start.empty()) {
    out += "begin with " + hex_text(facts.start);
    joint = " and ";
  }
  if (!facts.end.empty()) {
    out += joint + ("end with " + hex_text(facts.end));
    joint = " and ";
  }
  if (facts.length) out += fmt::format("{}take {} octets each", joint, *facts.length);
  return out;
}

}  // namespace

std::string hex_text(std::span<const std::uint8_t> octets) {
  std::string out;
  for (const std::uint8_t octet : octets) {
    if (!out.empty()) out += ' ';
    out += fmt::format("{:02X}", octet);
  }
  return out;
}

std::string framing_text(const FrameFacts& facts) {
  switch (facts.framing) {
    case Framing::none:
      return "every message is one frame";
    case Framing::slip:
      return "SLIP: frames between C0, with DB as escape";
    case Framing::hdlc:
      return "HDLC: frames between flags 7E, with 7D as escape";
    case Framing::cobs:
      return "COBS: frames between 00";
    case Framing::line:
      return "lines";
    case Framing::length_prefixed:
      return prefixed_text(facts);
    case Framing::delimited:
      return delimited_text(facts);
  }
  return {};
}

std::string check_text(const fleet::CheckFacts& check, std::size_t length) {
  const auto place = [length](int offset) {
    return offset >= 0 ? offset : static_cast<int>(length) + offset;
  };
  const int at = place(check.at);
  const int from = place(check.from);
  const int to = check.to != 0 ? place(check.to) : at < from ? static_cast<int>(length) : at;
  std::string out;
  switch (check.kind) {
    case fleet::CheckKind::crc:
      out = "the CRC " + check.crc;
      break;
    case fleet::CheckKind::sum:
      out = fmt::format("the sum of {} bits", 8 * check.octets);
      if (check.complement == fleet::Complement::ones) out += ", inverted,";
      if (check.complement == fleet::Complement::twos) out += ", negated,";
      break;
    case fleet::CheckKind::exclusive_or:
      out = "the exclusive or";
      break;
  }
  out += fmt::format(" over octets {} to {}", from, to - 1);
  if (check.octets > 1) out += std::string{", "} + order_text(check.order);
  out += check.at == -check.octets ? ", at the end" : fmt::format(", at octet {}", at);
  return out;
}

std::string width_text(std::size_t octets, fleet::ByteOrder order) {
  if (octets == 1) return "of one octet";
  return fmt::format("of {} octets, {}", octets, order_text(order));
}

}  // namespace fieldfare::learn
