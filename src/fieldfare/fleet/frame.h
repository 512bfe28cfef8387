// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "fieldfare/base/instant.h"

// What a sheet says about the bytes of a report: `[frame]` in docs/formats/sheet.md.
namespace fieldfare::fleet {

using Octets = std::vector<std::uint8_t>;

enum class ByteOrder : std::uint8_t { little, big };

/// How frames are told apart in a stream of bytes. A datagram and a message of a
/// broker are frames already: `none`.
enum class Framing : std::uint8_t {
  none,
  slip,             ///< RFC 1055
  hdlc,             ///< flags and escapes of RFC 1662; its check is `check`, as for all
  cobs,             ///< consistent overhead byte stuffing, 00 between frames
  length_prefixed,  ///< says in front how long it is
  delimited,        ///< begins or ends with known octets, or has a known length
  line,             ///< ends with a line feed; a carriage return before it doesn't count
};

/// Where a length-prefixed frame says how long it is.
struct LengthPrefix {
  int at = 0;      ///< octets from the frame's first, its `start` included
  int octets = 1;  ///< width of the length, 1 to 4
  ByteOrder order = ByteOrder::big;
  int adds = 0;  ///< octets of the whole frame less the number sent

  bool operator==(const LengthPrefix&) const = default;
};

enum class CheckKind : std::uint8_t {
  crc,  ///< a model of base/crc.h
  sum,  ///< of the octets, modulo 2^8 or 2^16
  exclusive_or,
};

/// What is done to a sum before it is sent.
enum class Complement : std::uint8_t { none, ones, twos };

/// How a frame says that it arrived whole. Offsets count octets of the frame as
/// the framing hands it on: escapes undone, flags and line ends gone, `start` and
/// length still there. Negative ones count from its end.
struct CheckFacts {
  CheckKind kind = CheckKind::crc;
  std::string crc = {};  ///< catalogue name, where it is one
  int octets = 2;        ///< width: of the CRC; 1 or 2 of a sum; 1 of an exclusive or
  Complement complement = Complement::none;
  ByteOrder order = ByteOrder::little;
  bool as_hex_digits = false;  ///< sent as two digits an octet, as text lines do
  int at = 0;                  ///< where it stands; at the end: minus its width as sent
  int from = 0;                ///< first octet that is checked
  int to = 0;                  ///< one past the last; 0 where it isn't said: `at`, or the
                               ///< frame's end where the check stands before `from`

  bool operator==(const CheckFacts&) const = default;
};

/// What the frame carries.
enum class Body : std::uint8_t { binary, text, json, cbor, senml_json, senml_cbor };

/// What a field of a frame is to us.
enum class FieldRole : std::uint8_t {
  reading,   ///< a number in the unit that the field's name ends in
  address,   ///< of the node
  name,      ///< of the node, as text, where it sends no address
  sequence,  ///< the counter of reports
  time,      ///< when the receiver heard it, or the node measured it
  age,       ///< how long before its arrival that was
  receiver,  ///< which receiver heard it
  rssi,
  snr,
  lqi,
  noise,
  supply,
  network,  ///< number of the network that the node belongs to, as sent: a PAN identifier.
            ///< Becomes a reading that is always called `network`
  payload,  ///< a frame within, of another sheet: what a gateway wraps
  part,     ///< needed by other fields, or to be stepped over
};

enum class NumberKind : std::uint8_t {
  unsigned_integer,
  signed_integer,  ///< two's complement
  real,            ///< IEEE 754, of 2, 4 or 8 octets
  bcd,             ///< packed decimal digits, two an octet
};

/// Bits of an integer, 0 the least significant; both ends included.
struct BitSpan {
  int low = 0;
  int high = 0;

  bool operator==(const BitSpan&) const = default;
};

struct NumberForm {
  NumberKind kind = NumberKind::unsigned_integer;
  int octets = 1;  ///< 1 to 8
  ByteOrder order = ByteOrder::big;
  std::optional<BitSpan> bits = {};  ///< a part of the integer; sign-extended where signed

  bool operator==(const NumberForm&) const = default;
};

/// A run of octets: an address, a payload, a constant. `order` little means that
/// the first octet sent is the last of an address as people write it.
struct OctetsForm {
  std::optional<int> octets;  ///< absent: up to the check, to a field counted from
                              ///< the end, or to the frame's end
  ByteOrder order = ByteOrder::big;

  bool operator==(const OctetsForm&) const = default;
};

/// Characters, ended by its length, a 00 octet or the frame's end. Read as a
/// number where the role wants one.
struct TextForm {
  std::optional<int> octets;

  bool operator==(const TextForm&) const = default;
};

using BinaryForm = std::variant<NumberForm, OctetsForm, TextForm>;

/// How JSON, CBOR and text carry octets and addresses. Numbers can be hex digits,
/// too: whole ones, with or without `0x` in front.
enum class TextCoding : std::uint8_t { plain, hex, base64 };

/// Where a field stands in a body of octets. Nothing: behind the one before; the
/// first one behind `start`, length and check, as far as these stand in front. Fields
/// counted from the front end where the check at the end begins, or the first of
/// those counted from the end.
struct AtOctet {
  std::optional<int> at;  ///< negative: from the end of the frame
  BinaryForm form;

  bool operator==(const AtOctet&) const = default;
};
/// In JSON and CBOR; relative to one report where the body holds several.
struct AtPointer {
  std::string pointer;  ///< RFC 6901
  TextCoding coding = TextCoding::plain;

  bool operator==(const AtPointer&) const = default;
};
/// In a SenML pack: the record whose name, base name included, ends in this.
struct AtRecord {
  std::string name;       ///< empty: all of the record's name names the node
  std::string unit = {};  ///< and whose unit, base unit included, is this; empty: any

  bool operator==(const AtRecord&) const = default;
};
/// In text: the column, from 0, between separators.
struct AtColumn {
  int column = 0;
  TextCoding coding = TextCoding::plain;

  bool operator==(const AtColumn&) const = default;
};
/// In text: what follows `key` and the assignment sign in one of the columns.
struct AtKey {
  std::string key;
  TextCoding coding = TextCoding::plain;

  bool operator==(const AtKey&) const = default;
};
/// In text: what follows these characters where they first stand in the line, or,
/// where a column is given, in that column; blanks between are left out. A number
/// ends where it can't go on: of `RSSI-29 dBm` it is -29. Anything else ends at the
/// next blank or separator.
struct AfterText {
  std::string text;  ///< may be empty where a column is given
  TextCoding coding = TextCoding::plain;
  std::optional<int> column = {};

  bool operator==(const AfterText&) const = default;
};
using FieldPlace = std::variant<AtOctet, AtPointer, AtRecord, AtColumn, AtKey, AfterText>;

/// The field is there only if another one, before it, says so.
struct Presence {
  std::string field;
  std::optional<int> bit;                   ///< that bit is set
  std::optional<std::int64_t> equals = {};  ///< or its raw value is this

  bool operator==(const Presence&) const = default;
};

/// The field comes several times in a row. Its readings are called
/// `temperature_1_c`, `temperature_2_c` and so on, in the order of the frame.
struct Repeat {
  std::variant<int, std::string> count;  ///< a number, or the field that says it
  int stride = 0;                        ///< octets from one to the next; 0: its width

  bool operator==(const Repeat&) const = default;
};

struct Pt100Sensor {
  bool operator==(const Pt100Sensor&) const = default;
};
/// Coefficients of Steinhart and Hart, for ohm.
struct ThermistorSensor {
  double a = 0, b = 0, c = 0;

  bool operator==(const ThermistorSensor&) const = default;
};
/// 4-20 mA: what 4 and 20 mA stand for. States of NAMUR NE 43.
struct LoopSensor {
  double low = 0, high = 0;

  bool operator==(const LoopSensor&) const = default;
};
/// c0 + c1 x + c2 x^2 + ...
struct Polynomial {
  std::vector<double> coefficients;

  bool operator==(const Polynomial&) const = default;
};

/// From the number sent to the reading: times `scale`, plus `offset`, and then
/// what the sensor makes of that (ohm or mA) or the polynomial.
struct Conversion {
  double scale = 1;
  double offset = 0;
  std::variant<std::monostate, Pt100Sensor, ThermistorSensor, LoopSensor, Polynomial> then;

  bool operator==(const Conversion&) const = default;
};

struct FieldLayout {
  std::string name;
  FieldRole role = FieldRole::reading;
  FieldPlace place;
  Conversion conversion;
  std::optional<std::int64_t> missing;  ///< raw value that means: not measured
  std::optional<Octets> equals;         ///< always holds these octets (or characters), else
                                        ///< the frame is another kind's
  std::vector<std::pair<std::int64_t, std::string>> words;  ///< of an enumeration, by raw value
  std::optional<Presence> when;
  std::optional<Repeat> repeat;
  bool optional = false;  ///< JSON, CBOR, SenML, text: may be absent. Binary: may lie past the end
  Instant epoch{};        ///< of times: the moment that 0 stands for; RFC 3339 text needs none

  bool operator==(const FieldLayout&) const = default;
};

/// All that is known about the bytes of a report.
struct FrameFacts {
  Framing framing = Framing::none;
  Octets start;               ///< length_prefixed, delimited: what every frame begins with
  Octets end;                 ///< delimited: what every frame ends with; not handed on
  std::optional<int> length;  ///< delimited: octets of every frame, start and end included
  std::optional<LengthPrefix> prefix;
  int most_octets = 2048;  ///< longer frames are noise; 1 to 65536
  std::optional<CheckFacts> check;
  Body body = Body::binary;
  char separator = ',';       ///< text: between columns; a blank stands for any run of blanks
  char assignment = '=';      ///< text: between key and value
  char decimal = '.';         ///< text: the sign before decimals, `.` or `,`
  std::string each;           ///< JSON, CBOR: pointer to a list of reports; empty: one
  bool exact_length = false;  ///< binary: octets beyond the last field are a fault
  std::vector<FieldLayout> fields;

  bool operator==(const FrameFacts&) const = default;
};

/// What is wrong with a layout beyond single values: field that comes too late, a
/// name twice, no room. `field` is its index; none where it is about the frame.
struct FrameFault {
  std::optional<std::size_t> field;
  std::string key;  ///< of the sheet, where the fault stands
  std::string what;
  std::string expected;
};

/// Empty where encoders and decoders can rely on it.
std::vector<FrameFault> faults_of(const FrameFacts& frame);

/// Octets that a check takes in the frame: its width, twice that in hex digits.
int sent_octets(const CheckFacts& check);

/// Octets of one value of a binary form, nothing where it runs to the end.
std::optional<int> octets_of(const BinaryForm& form);

/// What readings of fields with the role `network` are called, whatever the field is.
inline constexpr std::string_view kNetworkReading = "network";

/// What a reading of a field that comes once is called.
std::string_view reading_name(const FieldLayout& field);

/// What a reading of a repeated field is called: `temperature_c` becomes
/// `temperature_2_c` the second time (`repetition` counts from 0).
std::string repeated_name(std::string_view name, std::size_t repetition);

}  // namespace fieldfare::fleet
