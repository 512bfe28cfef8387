// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/address.h"
#include "fieldfare/base/crc.h"
#include "fieldfare/calc/internal/cmac.h"
#include "fieldfare/calc/internal/definition.h"
#include "fieldfare/wire/framing.h"

namespace fieldfare::calc {
namespace {

std::vector<std::string_view> crc_names() {
  std::vector<std::string_view> out;
  for (const CrcModel& model : crc_models()) out.push_back(model.name);
  return out;
}

Outcome crc(const Inputs& in) {
  const CrcModel& model = *find_crc_model(in.text("name"));
  const Address value{Crc{model}.of(in.octets("hex")),
                      static_cast<std::uint8_t>((model.width + 3) / 4)};
  return Worked{{{"crc_hex", value.text()}},
                {"as a number; the order on the wire is the protocol's"}};
}

struct Framing {
  std::string_view kind;
  wire::Octets (*encode)(std::span<const std::uint8_t>);
  Result<wire::Octets, wire::FramingError> (*decode)(std::span<const std::uint8_t>);
};
constexpr Framing kFramings[] = {{"slip", wire::slip_encode, wire::slip_decode},
                                 {"hdlc", wire::hdlc_encode, wire::hdlc_decode},
                                 {"cobs", wire::cobs_encode, wire::cobs_decode}};

Outcome frame(const Inputs& in) {
  const Framing* framing = kFramings;
  while (framing->kind != in.text("kind")) ++framing;
  const wire::Octets given = in.octets("hex");
  if (in.text("op") == "encode") return Worked{{{"hex", hex_text(framing->encode(given))}}};
  const auto payload = framing->decode(given);
  if (!payload) {
    return Failure{"`hex` is no " + std::string{framing->kind} +
                   " frame: " + std::string{wire::framing_fault_text(payload.error().fault)} +
                   " (octet " + std::to_string(payload.error().offset) + ", counted from 0)"};
  }
  return Worked{{{"hex", hex_text(*payload)}}};
}

Outcome cmac(const Inputs& in) {
  const auto mac = aes_cmac(in.text("key_file"), in.octets("hex"));
  if (!mac) return Failure{mac.error()};
  return Worked{{{"cmac_hex", hex_text(*mac)}}};
}

}  // namespace

std::vector<Definition> encoding_calculators() {
  return {
      {{.name = "crc",
        .summary = "cyclic redundancy check by its catalogue name",
        .keys = {choice("name", crc_names(), "catalogue name"), octets("hex", "octets in hex")},
        .source = "G. Cook, Catalogue of parametrised CRC algorithms",
        .example = "name=crc-16/ibm-sdlc hex=313233343536373839"},
       crc},
      {{.name = "frame",
        .summary = "puts octets into a frame, or takes them out",
        .keys = {choice("kind", {"slip", "hdlc", "cobs"}, "kind of frame"),
                 choice("op", {"encode", "decode"}, "what to do"), octets("hex", "octets in hex")},
        .source = "RFC 1055 (SLIP); RFC 1662 (HDLC-like); Cheshire & Baker 1999 (COBS)",
        .example = "kind=cobs op=encode hex=11220033"},
       frame},
      {{.name = "cmac",
        .summary = "AES-CMAC of octets, with the key from a file",
        .keys = {{.name = "key_file",
                  .kind = KeyKind::file,
                  .meaning = "file with the key: 32 hex digits, or 16 octets"},
                 octets("hex", "the message in hex")},
        .source = "RFC 4493",
        .example = "key_file=key.hex hex=6BC1BEE22E409F96E93D7E117393172A"},
       cmac},
  };
}

}  // namespace fieldfare::calc
