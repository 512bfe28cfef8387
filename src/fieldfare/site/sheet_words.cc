// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/sheet_words.h"

#include <optional>
#include <variant>

namespace fieldfare::site {
namespace {

using fleet::ByteOrder;
using fleet::NumberForm;
using fleet::NumberKind;

template <class... Cases>
struct Overload : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overload(Cases...) -> Overload<Cases...>;

/// `be` or `le` where more than one octet has an order.
std::string order_suffix(const NumberForm& form) {
  if (form.octets == 1) return "";
  return form.order == ByteOrder::big ? "be" : "le";
}

std::string number_word(const NumberForm& form) {
  const std::string bits = std::to_string(8 * form.octets) + order_suffix(form);
  switch (form.kind) {
    case NumberKind::unsigned_integer:
      return 'u' + bits;
    case NumberKind::signed_integer:
      return 'i' + bits;
    case NumberKind::real:
      return 'f' + bits;
    case NumberKind::bcd:
      return "bcd" + std::to_string(form.octets) + (form.order == ByteOrder::big ? "" : "le");
  }
  return "";
}

}  // namespace

std::string_view framing_word(fleet::Framing framing) {
  switch (framing) {
    case fleet::Framing::none:
      return "none";
    case fleet::Framing::slip:
      return "slip";
    case fleet::Framing::hdlc:
      return "hdlc";
    case fleet::Framing::cobs:
      return "cobs";
    case fleet::Framing::length_prefixed:
      return "length-prefixed";
    case fleet::Framing::delimited:
      return "delimited";
    case fleet::Framing::line:
      return "line";
  }
  return "";
}

std::string_view body_word(fleet::Body body) {
  switch (body) {
    case fleet::Body::binary:
      return "binary";
    case fleet::Body::text:
      return "text";
    case fleet::Body::json:
      return "json";
    case fleet::Body::cbor:
      return "cbor";
    case fleet::Body::senml_json:
      return "senml-json";
    case fleet::Body::senml_cbor:
      return "senml-cbor";
  }
  return "";
}

std::string_view role_word(fleet::FieldRole role) {
  constexpr std::string_view kWords[] = {"reading", "address",  "name",    "sequence", "time",
                                         "age",     "receiver", "rssi",    "snr",      "lqi",
                                         "noise",   "supply",   "network", "payload",  "part"};
  return kWords[static_cast<std::size_t>(role)];
}

std::string_view coding_word(fleet::TextCoding coding) {
  constexpr std::string_view kWords[] = {"plain", "hex", "base64"};
  return kWords[static_cast<std::size_t>(coding)];
}

std::string_view complement_word(fleet::Complement complement) {
  constexpr std::string_view kWords[] = {"none", "ones", "twos"};
  return kWords[static_cast<std::size_t>(complement)];
}

std::string_view order_word(ByteOrder order) { return order == ByteOrder::big ? "big" : "little"; }

std::string type_word(const fleet::BinaryForm& form) {
  const auto width = [](std::optional<int> octets) {
    return octets ? std::to_string(*octets) : "";
  };
  return std::visit(
      Overload{[](const NumberForm& number) { return number_word(number); },
               [&](const fleet::OctetsForm& run) {
                 const bool is_backwards = run.octets && run.order != ByteOrder::big;
                 return "bytes" + width(run.octets) + (is_backwards ? "le" : "");
               },
               [&](const fleet::TextForm& text) { return "text" + width(text.octets); }},
      form);
}

std::string check_name(const fleet::CheckFacts& check) {
  switch (check.kind) {
    case fleet::CheckKind::crc:
      return check.crc;
    case fleet::CheckKind::sum:
      return check.octets == 1 ? "sum-8" : "sum-16";
    case fleet::CheckKind::exclusive_or:
      return "xor-8";
  }
  return "";
}

}  // namespace fieldfare::site
