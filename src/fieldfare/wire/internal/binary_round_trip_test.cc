// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <cmath>
#include <deque>
#include <vector>

#include "fieldfare/wire/body_test_support.h"
#include "fieldfare/wire/internal/body_codecs.h"
#include "fieldfare/wire/internal/conversion.h"

namespace fieldfare::wire {
namespace {

using fleet::AtOctet;
using fleet::ByteOrder;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::FrameFacts;
using fleet::NumberForm;
using fleet::NumberKind;
using fleet::Octets;
using fleet::OctetsForm;
using fleet::TextForm;

bool toss() { return *rc::gen::arbitrary<bool>(); }
int upto(int most) { return *rc::gen::inRange(0, most + 1); }

NumberForm any_number() {
  NumberForm form;
  form.kind = *rc::gen::element(NumberKind::unsigned_integer, NumberKind::signed_integer,
                                NumberKind::real, NumberKind::bcd);
  form.octets = form.kind == NumberKind::real ? *rc::gen::element(2, 4, 8) : 1 + upto(7);
  form.order = toss() ? ByteOrder::big : ByteOrder::little;
  const bool is_integer = form.kind != NumberKind::real && form.kind != NumberKind::bcd;
  if (is_integer && upto(3) == 0) {
    const int low = upto(8 * form.octets - 1);
    form.bits = fleet::BitSpan{low, low + upto(8 * form.octets - 1 - low)};
  }
  return form;
}

/// A raw number that the form can hold, and that a double holds.
double any_raw(const NumberForm& form) {
  if (form.kind == NumberKind::real) return upto(4000) - 2000;
  const int width = form.bits ? form.bits->high - form.bits->low + 1 : 8 * form.octets;
  if (form.kind == NumberKind::bcd) {
    return std::floor(std::min(std::pow(10, 2 * form.octets), 1e9) * upto(999) / 1000.0);
  }
  if (form.kind == NumberKind::unsigned_integer) {
    return std::floor(std::exp2(std::min(width, 40)) * upto(999) / 1000.0);
  }
  return std::floor(std::exp2(std::min(width - 1, 40)) * (upto(1998) - 999) / 1000.0);
}

fleet::Conversion any_conversion() {
  fleet::Conversion conversion;
  conversion.scale = *rc::gen::element(1.0, 0.01, 0.1, 0.5, -1.0, 0.0625);
  conversion.offset = *rc::gen::element(0.0, -40.0, 0.5);
  return conversion;
}

/// A layout with values that fit it.
struct Made {
  FrameFacts frame;
  std::deque<std::string> texts;
  Octets payload;
  std::vector<FieldValue> readings;
  std::vector<FieldValue> parts;
  ReportValues values;

  FieldLayout& add(const std::string& name, FieldRole role, fleet::BinaryForm form) {
    FieldLayout layout = test::field(name, role, AtOctet{std::nullopt, form});
    frame.fields.push_back(std::move(layout));
    return frame.fields.back();
  }
  std::uint16_t last() const { return static_cast<std::uint16_t>(frame.fields.size() - 1); }
  std::string name() const { return "f" + std::to_string(frame.fields.size()); }
};

void add_node(Made& made) {
  switch (upto(3)) {
    case 0: {
      const int octets = 1 + upto(7);
      made.add("node", FieldRole::address,
               OctetsForm{octets, toss() ? ByteOrder::big : ByteOrder::little});
      const std::uint64_t mask = ~std::uint64_t{0} >> (64 - 8 * octets);
      made.values.address = Address{*rc::gen::arbitrary<std::uint64_t>() & mask,
                                    static_cast<std::uint8_t>(2 * octets)};
      break;
    }
    case 1:
      made.add("node", FieldRole::name, TextForm{toss() ? std::optional{6} : std::nullopt});
      made.values.node_name = made.texts.emplace_back("n" + std::to_string(upto(9999)));
      break;
    case 2:
      made.add("node", FieldRole::address, TextForm{8});
      made.values.address = Address{static_cast<std::uint64_t>(upto(0xFFFF)), 4};
      break;
    default:
      break;
  }
}

void add_counter_and_times(Made& made) {
  if (toss()) {
    const int octets = 1 + upto(7);
    made.add(
        "seq", FieldRole::sequence,
        NumberForm{
            NumberKind::unsigned_integer, octets, toss() ? ByteOrder::big : ByteOrder::little, {}});
    made.values.sequence =
        *rc::gen::arbitrary<std::uint64_t>() & ~std::uint64_t{0} >> (64 - 8 * octets);
  }
  if (toss()) {
    FieldLayout& time = made.add("time", FieldRole::time,
                                 NumberForm{NumberKind::unsigned_integer, 6, ByteOrder::big, {}});
    time.conversion.scale = *rc::gen::element(1.0, 0.001, 0.25);
    time.epoch = Instant{*rc::gen::element<std::int64_t>(0, 946'684'800'000'000'000)};
    made.values.time = Instant{time.epoch.ns + upto(4'000'000) * std::int64_t{1'000'000'000}};
  }
  if (toss()) {
    made.add("age", FieldRole::age,
             NumberForm{NumberKind::unsigned_integer, 2, ByteOrder::little, {}})
        .conversion.scale = 0.01;
    made.values.age = Duration{upto(65535) * std::int64_t{10'000'000}};
  }
}

void add_reading(Made& made) {
  const NumberForm form = any_number();
  FieldLayout& layout = made.add(made.name(), FieldRole::reading, form);
  layout.conversion = any_conversion();
  made.readings.push_back(
      {made.last(), 0, convert(layout.conversion, any_raw(form)).value.value()});
}

/// Flags or a count, and a reading that depends on them.
void add_dependent(Made& made) {
  const NumberForm form{
      NumberKind::unsigned_integer, 1 + upto(1), toss() ? ByteOrder::big : ByteOrder::little, {}};
  const std::string flags = made.name();
  made.add(flags, FieldRole::part, form);
  const std::uint16_t flags_field = made.last();
  FieldLayout& layout = made.add(made.name(), FieldRole::reading, any_number());
  const NumberForm reading = std::get<NumberForm>(std::get<AtOctet>(layout.place).form);
  int raw = upto(5);
  int repetitions = 1;
  switch (upto(2)) {
    case 0:
      layout.when = fleet::Presence{flags, 1};
      repetitions = raw >> 1 & 1;
      break;
    case 1:
      layout.when = fleet::Presence{flags, std::nullopt, 3};
      repetitions = raw == 3 ? 1 : 0;
      break;
    default:
      layout.repeat = fleet::Repeat{flags, toss() ? 0 : reading.octets + upto(2)};
      repetitions = raw;
  }
  made.parts.push_back({flags_field, 0, static_cast<double>(raw)});
  for (int i = 0; i < repetitions; ++i) {
    made.readings.push_back({made.last(), static_cast<std::uint16_t>(i), any_raw(reading)});
  }
}

void add_constant(Made& made) {
  made.add(made.name(), FieldRole::part, OctetsForm{2}).equals =
      Octets{static_cast<std::uint8_t>(upto(255)), 0x7E};
}

/// What may lie past the end, or a payload up to it.
void add_tail(Made& made) {
  if (toss()) {
    made.add("payload", FieldRole::payload, OctetsForm{});
    made.payload = *rc::gen::arbitrary<Octets>();
    made.values.payload = made.payload;
    return;
  }
  const int there = upto(3);
  for (int i = 0; i < 3; ++i) {
    const NumberForm form = any_number();
    made.add(made.name(), FieldRole::reading, form).optional = true;
    if (i < there) made.readings.push_back({made.last(), 0, any_raw(form)});
  }
}

void add_end(Made& made) {
  if (toss()) {
    made.frame.check = fleet::CheckFacts{};
    made.frame.check->crc = "crc-16/ibm-sdlc";
    made.frame.check->at = -2;
  }
  if (toss()) return;
  FieldLayout& rssi = made.add("rssi", FieldRole::rssi,
                               NumberForm{NumberKind::signed_integer, 1, ByteOrder::big, {}});
  std::get<AtOctet>(rssi.place).at = -4;
  rssi.missing = 127;
  made.add("lqi", FieldRole::lqi, NumberForm{NumberKind::unsigned_integer, 1, ByteOrder::big, {}});
  made.values.lqi = upto(255);
  if (toss()) made.values.rssi_dbm = -upto(120);
}

void add_framing(Made& made) {
  if (toss()) return;
  made.frame.framing = fleet::Framing::length_prefixed;
  made.frame.start = Octets(static_cast<std::size_t>(upto(2)), 0xA5);
  made.frame.prefix = fleet::LengthPrefix{static_cast<int>(made.frame.start.size()), 2,
                                          toss() ? ByteOrder::big : ByteOrder::little, 3};
}

Made any_layout() {
  Made made;
  add_framing(made);
  add_node(made);
  add_counter_and_times(made);
  for (int i = upto(4); i > 0; --i) add_reading(made);
  for (int i = upto(2); i > 0; --i) add_dependent(made);
  if (toss()) add_constant(made);
  add_tail(made);
  add_end(made);
  made.values.readings = made.readings;
  made.values.parts = made.parts;
  return made;
}

TEST(BinaryRoundTrip, GivesBackWhatAnyLayoutCanHold) {
  EXPECT_TRUE(rc::check([] {
    const Made made = any_layout();
    for (const auto& fault : fleet::faults_of(made.frame)) RC_FAIL(fault.key + ": " + fault.what);
    const auto codec = make_binary_codec(made.frame);
    const auto frame = codec->encode(made.values);
    if (!frame) RC_FAIL(body_error_text(frame.error(), made.frame));
    const auto decoded = test::decode(*codec, *frame);
    if (decoded.error) RC_FAIL(body_error_text(*decoded.error, made.frame));
    RC_ASSERT(decoded.reports.size() == 1U);
    RC_ASSERT(decoded.reports.front() == test::taken(made.values));
  }));
}

TEST(BinaryRoundTrip, ReadsArbitraryOctetsWithoutLeavingThem) {
  // Each frame is a copy of its own size, so that the sanitizer sees a look outside.
  EXPECT_TRUE(rc::check([] {
    const Made made = any_layout();
    const auto codec = make_binary_codec(made.frame);
    for (int i = 0; i < 20; ++i) {
      const auto octets = *rc::gen::arbitrary<Octets>();
      const Octets frame(octets.begin(), octets.end());
      const auto decoded = test::decode(*codec, frame);
      RC_ASSERT(decoded.error.has_value() == decoded.reports.empty());
      if (decoded.error) RC_ASSERT(decoded.error->offset <= frame.size());
    }
  }));
}

TEST(BinaryRoundTrip, RefusesEveryFrameThatIsCutShort) {
  EXPECT_TRUE(rc::check([] {
    Made made;
    add_node(made);
    add_reading(made);
    add_reading(made);
    made.values.readings = made.readings;
    const auto codec = make_binary_codec(made.frame);
    const auto frame = codec->encode(made.values);
    RC_ASSERT(frame.has_value());
    const auto size = *rc::gen::inRange<std::size_t>(0, frame->size());
    const Octets cut(frame->begin(), frame->begin() + static_cast<std::ptrdiff_t>(size));
    RC_ASSERT(test::decode(*codec, cut).error.has_value());
  }));
}

}  // namespace
}  // namespace fieldfare::wire
