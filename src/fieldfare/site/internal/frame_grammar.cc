// SPDX-License-Identifier: Apache-2.0
// The keys of [frame]: what the bytes of a report, or of a receiver, say. Ranges
// are what decoders can hold; what keys ask of each other is fleet::faults_of()'s.
#include "fieldfare/site/internal/grammar.h"

namespace fieldfare::site {
namespace {

constexpr double kMostBytesOfAFrame = 65536;
constexpr double kWholeLimit = 9223372036854775808.0;  // of 64 bits, two's complement
constexpr double kLargestNumber = 1e12;

constexpr std::string_view kFramings[] = {"none",      "slip", "hdlc", "cobs", "length-prefixed",
                                          "delimited", "line"};
constexpr std::string_view kBodies[] = {"binary", "text",       "json",
                                        "cbor",   "senml-json", "senml-cbor"};
constexpr std::string_view kOrders[] = {"little", "big"};
constexpr std::string_view kComplements[] = {"none", "ones", "twos"};
constexpr std::string_view kCodings[] = {"plain", "hex", "base64"};
constexpr std::string_view kRoles[] = {"reading", "address",  "name",    "sequence", "time",
                                       "age",     "receiver", "rssi",    "snr",      "lqi",
                                       "noise",   "supply",   "network", "payload",  "part"};
constexpr std::string_view kDecimals[] = {".", ","};

constexpr Key kLengthKeys[] = {
    {.name = "at",
     .form = Form::whole,
     .meaning = "where it stands, from the frame's first byte, `start` included",
     .unit = "bytes",
     .least = 0,
     .most = kMostBytesOfAFrame - 1,
     .required = true},
    {.name = "type",
     .form = Form::value_type,
     .meaning = "an unsigned integer of 1 to 4 bytes",
     .required = true},
    {.name = "adds",
     .form = Form::whole,
     .meaning = "bytes of the whole frame less the number sent; 0 where absent",
     .unit = "bytes",
     .least = -kMostBytesOfAFrame,
     .most = kMostBytesOfAFrame},
};
constexpr Section kLength = {"length", kLengthKeys};

constexpr Key check_offset(std::string_view name, std::string_view meaning) {
  return {.name = name,
          .form = Form::whole,
          .meaning = meaning,
          .unit = "bytes",
          .least = -kMostBytesOfAFrame,
          .most = kMostBytesOfAFrame};
}

constexpr Key kCheckKeys[] = {
    {.name = "kind",
     .form = Form::text,
     .meaning = "a CRC by its catalogue name, or `sum-8`, `sum-16`, `xor-8`",
     .required = true},
    check_offset("at", "where it stands; at the end where absent"),
    check_offset("from", "first byte that is checked; 0 where absent"),
    check_offset("to",
                 "one past the last; where absent the check itself, or the frame's end "
                 "where the check stands before `from`"),
    {.name = "order",
     .form = Form::choice,
     .meaning = "which byte is sent first, the low or the high one; where absent the low one of "
                "reflected CRCs, the high one of others",
     .words = kOrders},
    {.name = "complement",
     .form = Form::choice,
     .meaning = "what is done to a sum before it is sent; none where absent",
     .words = kComplements},
    {.name = "digits",
     .form = Form::flag,
     .meaning = "sent as two hex digits a byte, as in lines of text; false where absent"},
};
constexpr Section kCheck = {"check", kCheckKeys};

constexpr Key kThermistorKeys[] = {
    {.name = "a",
     .form = Form::number,
     .meaning = "constant coefficient",
     .least = -1,
     .most = 1,
     .required = true},
    {.name = "b",
     .form = Form::number,
     .meaning = "coefficient of the logarithm",
     .least = -1,
     .most = 1,
     .required = true},
    {.name = "c",
     .form = Form::number,
     .meaning = "coefficient of its cube",
     .least = -1,
     .most = 1,
     .required = true},
};
constexpr Section kThermistor = {"thermistor", kThermistorKeys};

constexpr Key kLoopKeys[] = {
    {.name = "low",
     .form = Form::number,
     .meaning = "reading at 4 mA",
     .unit = "the field's unit",
     .least = -kLargestNumber,
     .most = kLargestNumber,
     .required = true},
    {.name = "high",
     .form = Form::number,
     .meaning = "reading at 20 mA",
     .unit = "the field's unit",
     .least = -kLargestNumber,
     .most = kLargestNumber,
     .required = true},
};
constexpr Section kLoop = {"loop", kLoopKeys};

constexpr Key kWhenKeys[] = {
    {.name = "field", .form = Form::name, .meaning = "a field before this one", .required = true},
    {.name = "bit",
     .form = Form::whole,
     .meaning = "it is there where this bit of that field is set, 0 the least significant",
     .least = 0,
     .most = 63},
    {.name = "equals",
     .form = Form::whole,
     .meaning = "or it is there where that field holds this number, as sent",
     .least = -kWholeLimit,
     .most = kWholeLimit},
};
constexpr Section kWhen = {"when", kWhenKeys};

constexpr Key kRepeatKeys[] = {
    {.name = "count",
     .form = Form::whole_or_name,
     .meaning = "how often, or the field before this one that says it",
     .least = 1,
     .most = 1024,
     .required = true},
    {.name = "stride",
     .form = Form::whole,
     .meaning = "bytes from one to the next; its width where absent",
     .unit = "bytes",
     .least = 1,
     .most = kMostBytesOfAFrame},
};
constexpr Section kRepeat = {"repeat", kRepeatKeys};

constexpr Key kFrameFieldKeys[] = {
    {.name = "name",
     .form = Form::name,
     .meaning = "of a reading: as in logs, ending in the unit; of others: what the sheet calls it",
     .required = true},
    {.name = "role",
     .form = Form::choice,
     .meaning = "what it is to us; reading where absent",
     .words = kRoles},
    {.name = "at",
     .form = Form::whole,
     .meaning = "binary: its first byte, from the frame's first, or, negative, from the frame's "
                "end; behind the field before where absent",
     .unit = "bytes",
     .least = -kMostBytesOfAFrame,
     .most = kMostBytesOfAFrame - 1},
    {.name = "type", .form = Form::value_type, .meaning = "binary: how it is sent"},
    {.name = "bits",
     .form = Form::bits,
     .meaning = "binary: the lowest and the highest bit of an integer that count, 0 the least "
                "significant",
     .least = 0,
     .most = 63},
    {.name = "pointer",
     .form = Form::any_text,
     .meaning = "json, cbor: where it stands, as in RFC 6901"},
    {.name = "record",
     .form = Form::any_text,
     .meaning = "senml: what the record's name ends in, base name included"},
    {.name = "column",
     .form = Form::whole,
     .meaning = "text: between separators, from 0",
     .least = 0,
     .most = 1023},
    {.name = "key", .form = Form::any_text, .meaning = "text: what stands before its value"},
    {.name = "after",
     .form = Form::any_text,
     .meaning = "text: what stands in the line, or in `column`, right before its value"},
    {.name = "coding",
     .form = Form::choice,
     .meaning = "json, cbor, text: how bytes, or the digits of a number, are written; plain where "
                "absent",
     .words = kCodings},
    {.name = "scale",
     .form = Form::number,
     .meaning = "times what was sent; 1 where absent",
     .least = -kLargestNumber,
     .most = kLargestNumber},
    {.name = "offset",
     .form = Form::number,
     .meaning = "added after that; 0 where absent",
     .least = -kLargestNumber,
     .most = kLargestNumber},
    {.name = "polynomial",
     .form = Form::numbers,
     .meaning = "coefficients of what then becomes of it, from the constant on",
     .least = -kLargestNumber,
     .most = kLargestNumber},
    {.name = "pt100",
     .form = Form::flag,
     .meaning = "it is the resistance in ohm of a Pt100; false where absent"},
    {.name = "thermistor",
     .form = Form::table,
     .meaning = "it is the resistance in ohm of a thermistor with these coefficients of Steinhart "
                "and Hart",
     .section = &kThermistor},
    {.name = "loop",
     .form = Form::table,
     .meaning = "it is the current in mA of a 4-20 mA loop",
     .section = &kLoop},
    {.name = "missing",
     .form = Form::whole,
     .meaning = "the number sent where nothing was measured",
     .least = -kWholeLimit,
     .most = kWholeLimit},
    {.name = "equals",
     .form = Form::octets_or_whole,
     .meaning = "what it always holds, else the frame is another kind's",
     .least = -kWholeLimit,
     .most = kWholeLimit},
    {.name = "words",
     .form = Form::words,
     .meaning = "of an enumeration: what the numbers sent mean"},
    {.name = "when",
     .form = Form::table,
     .meaning = "it is there only if another field says so",
     .section = &kWhen},
    {.name = "repeat",
     .form = Form::table,
     .meaning = "it comes several times in a row",
     .section = &kRepeat},
    {.name = "optional",
     .form = Form::flag,
     .meaning = "it may be absent; binary: it may lie past the frame's end; false where absent"},
    {.name = "epoch",
     .form = Form::moment,
     .meaning = "of times sent as numbers: when 0 was; 1970-01-01 where absent"},
    kPlausible,
    kResolution,
    kAccuracy,
    kMaxRate,
};
constexpr Section kFrameField = {"[[frame.field]]", kFrameFieldKeys};

constexpr Key kFrameKeys[] = {
    {.name = "framing",
     .form = Form::choice,
     .meaning = "how frames are told apart in a stream of bytes; none where absent",
     .words = kFramings},
    {.name = "start",
     .form = Form::octets,
     .meaning = "delimited, length-prefixed: what every frame begins with"},
    {.name = "end", .form = Form::octets, .meaning = "delimited: what every frame ends with"},
    {.name = "length",
     .form = Form::whole_or_table,
     .meaning = "delimited: bytes of every frame, `start` and `end` included; length-prefixed: "
                "where the frame says it",
     .unit = "bytes",
     .least = 1,
     .most = kMostBytesOfAFrame,
     .section = &kLength},
    {.name = "most_bytes",
     .form = Form::whole,
     .meaning = "longer frames are noise; 2048 where absent",
     .unit = "bytes",
     .least = 1,
     .most = kMostBytesOfAFrame},
    {.name = "check",
     .form = Form::text_or_table,
     .meaning = "how a frame says that it arrived whole: a CRC by its catalogue name, or `sum-8`, "
                "`sum-16`, `xor-8`",
     .section = &kCheck},
    {.name = "body",
     .form = Form::choice,
     .meaning = "what the frame carries; binary where absent",
     .words = kBodies},
    {.name = "separator",
     .form = Form::character,
     .meaning = "text: between columns, a blank for any run of blanks; a comma where absent"},
    {.name = "assignment",
     .form = Form::character,
     .meaning = "text: between key and value; an equals sign where absent"},
    {.name = "decimal",
     .form = Form::choice,
     .meaning = "text: the sign before decimals; a point where absent",
     .words = kDecimals},
    {.name = "each",
     .form = Form::any_text,
     .meaning = "json, cbor: pointer to a list of reports; the body is one report where absent"},
    {.name = "exact_length",
     .form = Form::flag,
     .meaning = "binary: bytes beyond the last field are a fault; false where absent"},
    {.name = "field",
     .form = Form::tables,
     .meaning = "what stands in it, in order",
     .required = true,
     .section = &kFrameField},
};

}  // namespace

constinit const Section kFrame = {"[frame]", kFrameKeys};

}  // namespace fieldfare::site
