// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/deframer.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <algorithm>
#include <numeric>
#include <string>

#include "fieldfare/wire/check.h"

namespace fieldfare::wire {
namespace {

using fleet::CheckFacts;
using fleet::CheckKind;
using fleet::FrameFacts;
using fleet::Framing;
using fleet::Octets;

/// One call of the sink.
struct Call {
  std::optional<StreamFault> fault;
  Octets octets;
  std::size_t taken = 0;

  bool operator==(const Call&) const = default;
};

std::ostream& operator<<(std::ostream& out, const Call& call) {
  out << (call.fault ? stream_fault_code(*call.fault) : "frame") << " of " << call.taken << ":";
  for (const std::uint8_t octet : call.octets) {
    out << ' ' << "0123456789ABCDEF"[octet >> 4] << "0123456789ABCDEF"[octet & 0xF];
  }
  return out;
}

class Recorder final : public FrameSink {
 public:
  void frame(std::span<const std::uint8_t> octets, std::size_t taken) override {
    calls.push_back({std::nullopt, {octets.begin(), octets.end()}, taken});
  }
  void lost(StreamFault fault, std::span<const std::uint8_t> octets, std::size_t taken) override {
    calls.push_back({fault, {octets.begin(), octets.end()}, taken});
  }

  std::size_t taken() const {
    return std::accumulate(calls.begin(), calls.end(), std::size_t{0},
                           [](std::size_t sum, const Call& call) { return sum + call.taken; });
  }
  std::vector<Octets> frames() const {
    std::vector<Octets> out;
    for (const Call& call : calls) {
      if (!call.fault) out.push_back(call.octets);
    }
    return out;
  }

  std::vector<Call> calls;
};

/// Feeds copies of pieces of their own size, so that the sanitizer sees a look
/// past their end; pieces of `sizes` in turn. Tells where octets got lost.
std::vector<Call> deframe(const FrameFacts& facts, const Octets& stream,
                          const std::vector<std::size_t>& sizes) {
  Recorder recorder;
  const auto deframer = make_deframer(facts);
  std::size_t at = 0;
  for (std::size_t turn = 0; at < stream.size(); ++turn) {
    const std::size_t size = std::min(sizes[turn % sizes.size()], stream.size() - at);
    const Octets piece(stream.begin() + static_cast<std::ptrdiff_t>(at),
                       stream.begin() + static_cast<std::ptrdiff_t>(at + size));
    deframer->feed(piece, recorder);
    at += size;
    EXPECT_EQ(recorder.taken() + deframer->pending(), at);
  }
  deframer->finish(recorder);
  EXPECT_EQ(recorder.taken(), at);
  EXPECT_EQ(deframer->pending(), 0u);
  return recorder.calls;
}

std::vector<Call> deframe(const FrameFacts& facts, const Octets& stream) {
  return deframe(facts, stream, {stream.size() + 1});
}

std::vector<Octets> frames_in(const FrameFacts& facts, const Octets& stream) {
  std::vector<Octets> out;
  for (const Call& call : deframe(facts, stream)) {
    if (!call.fault) out.push_back(call.octets);
  }
  return out;
}

FrameFacts facts_of(Framing framing, int most_octets = 2048) {
  FrameFacts facts;
  facts.framing = framing;
  facts.most_octets = most_octets;
  return facts;
}

/// A kind of stream; invented.
struct Layout {
  const char* name;
  FrameFacts facts;
  bool is_text = false;              ///< the framing can't carry every octet
  bool survives_any_damage = false;  ///< damage to one octet anywhere costs one frame
};

std::vector<Layout> layouts() {
  constexpr int kMost = 60;
  const CheckFacts crc{.crc = "crc-16/ibm-sdlc", .at = -2};
  const CheckFacts wide_crc{.crc = "crc-32/iso-hdlc", .octets = 4, .at = -4};
  const CheckFacts digits{
      .kind = CheckKind::crc, .crc = "crc-16/modbus", .octets = 2, .as_hex_digits = true, .at = -4};
  std::vector<Layout> out;
  out.push_back({"slip", facts_of(Framing::slip, kMost), false, true});
  out.push_back({"hdlc", facts_of(Framing::hdlc, kMost), false, true});
  out.back().facts.check = crc;
  out.push_back({"cobs", facts_of(Framing::cobs, kMost)});
  out.push_back({"cobs in full groups", facts_of(Framing::cobs, 600)});
  out.push_back({"line", facts_of(Framing::line, kMost), true});
  out.push_back(
      {"prefixed, with start and check", facts_of(Framing::length_prefixed, kMost), false, true});
  out.back().facts.start = {0xAA, 0x55};
  out.back().facts.prefix = fleet::LengthPrefix{.at = 3, .octets = 2, .adds = 7};
  out.back().facts.check = wide_crc;
  out.push_back(
      {"prefixed, with a check alone", facts_of(Framing::length_prefixed, kMost), false, true});
  out.back().facts.prefix = fleet::LengthPrefix{.octets = 1};
  out.back().facts.check = wide_crc;
  out.push_back({"prefixed, with a start alone", facts_of(Framing::length_prefixed, kMost)});
  out.back().facts.start = {0x7E};
  out.back().facts.prefix =
      fleet::LengthPrefix{.at = 1, .octets = 1, .order = fleet::ByteOrder::little, .adds = 2};
  out.push_back({"prefixed, bare", facts_of(Framing::length_prefixed, kMost)});
  out.back().facts.prefix = fleet::LengthPrefix{.octets = 1, .adds = 1};
  out.push_back({"start and end", facts_of(Framing::delimited, kMost), true, true});
  out.back().facts.start = {0x02};
  out.back().facts.end = {0x03, 0x04};
  out.push_back({"start, end and check", facts_of(Framing::delimited, kMost), true, true});
  out.back().facts.start = {0x02, 0x02};
  out.back().facts.end = {0x03};
  out.back().facts.check = digits;
  out.push_back({"start alone", facts_of(Framing::delimited, kMost), true});
  out.back().facts.start = {0x02, 0x01};
  out.push_back({"end alone", facts_of(Framing::delimited, kMost), true});
  out.back().facts.end = {0x0D, 0x0A};
  out.push_back({"end alone, with a check", facts_of(Framing::delimited, kMost), true});
  out.back().facts.end = {0x03};
  out.back().facts.check = digits;
  out.push_back({"length and check", facts_of(Framing::delimited, kMost), false, true});
  out.back().facts.length = 20;
  out.back().facts.check = wide_crc;
  out.push_back({"start, length, end and check", facts_of(Framing::delimited, kMost), false, true});
  out.back().facts.start = {0xAA};
  out.back().facts.end = {0x55};
  out.back().facts.length = 22;
  out.back().facts.check = wide_crc;
  return out;
}

/// A frame around `payload`, with whatever the layout puts before and behind.
Octets make_frame(const FrameFacts& facts, Octets payload) {
  Octets frame = facts.start;
  const int head = facts.prefix ? facts.prefix->at + facts.prefix->octets : 0;
  frame.resize(std::max(frame.size(), static_cast<std::size_t>(head)));
  const auto check = static_cast<std::size_t>(facts.check ? sent_octets(*facts.check) : 0);
  if (facts.length) {
    payload.resize(static_cast<std::size_t>(*facts.length) - facts.start.size() - facts.end.size() -
                   check);
  }
  frame.insert(frame.end(), payload.begin(), payload.end());
  frame.resize(frame.size() + check);
  if (facts.prefix) {
    auto number = frame.size() - static_cast<std::size_t>(facts.prefix->adds);
    for (int i = 0; i < facts.prefix->octets; ++i, number >>= 8) {
      const bool is_big = facts.prefix->order == fleet::ByteOrder::big;
      const int place = is_big ? facts.prefix->octets - 1 - i : i;
      frame[static_cast<std::size_t>(facts.prefix->at + place)] = static_cast<std::uint8_t>(number);
    }
  }
  if (facts.check) FrameCheck{*facts.check}.write(frame);
  return frame;
}

/// Octets that mean something to one framing or another come often.
rc::Gen<std::uint8_t> any_octet() {
  return rc::gen::oneOf(
      rc::gen::element<std::uint8_t>(0x7E, 0x7D, 0x5E, 0xC0, 0xDB, 0xDC, 0xDD, 0x00, 0x01, 0x02,
                                     0x03, 0x04, 0x0A, 0x0D, 0xAA, 0x55, 0xFF),
      rc::gen::arbitrary<std::uint8_t>());
}

Octets any_octets(std::size_t least, std::size_t most) {
  const auto size = *rc::gen::inRange<std::size_t>(least, most + 1);
  return *rc::gen::container<Octets>(size, any_octet());
}

Octets any_payload(const Layout& layout) {
  const std::size_t most = layout.facts.most_octets > 100 ? 590 : 40;
  const auto size = *rc::gen::inRange<std::size_t>(1, most);
  return *rc::gen::container<Octets>(
      size, layout.is_text ? rc::gen::inRange<std::uint8_t>('0', 'z') : any_octet());
}

Octets any_frame(const Layout& layout) { return make_frame(layout.facts, any_payload(layout)); }

void append(Octets& stream, const Octets& more) {
  stream.insert(stream.end(), more.begin(), more.end());
}

/// Damages one octet: changed, dropped or doubled.
void damage(Octets& octets) {
  const auto at = *rc::gen::inRange<std::ptrdiff_t>(0, static_cast<std::ptrdiff_t>(octets.size()));
  switch (*rc::gen::inRange(0, 3)) {
    case 0:
      octets[static_cast<std::size_t>(at)] ^= *rc::gen::inRange<std::uint8_t>(1, 255);
      break;
    case 1:
      octets.erase(octets.begin() + at);
      break;
    default:
      octets.insert(octets.begin() + at, *any_octet());
  }
}

/// Frames, noise, torn and damaged frames, one behind the other.
Octets any_stream(const Layout& layout) {
  Octets stream;
  const int parts = *rc::gen::inRange(0, 8);
  for (int part = 0; part < parts; ++part) {
    Octets piece = frame_for_stream(layout.facts, any_frame(layout));
    switch (*rc::gen::inRange(0, 5)) {
      case 0:
        piece = any_octets(0, 150);
        break;
      case 1:
        piece.resize(*rc::gen::inRange<std::size_t>(0, piece.size()));
        break;
      case 2:
        damage(piece);
        break;
      default:
        break;
    }
    append(stream, piece);
  }
  return stream;
}

// Sources as in framing_test.cc: RFC 1055 and RFC 1662, computed with Python;
// Cheshire & Baker, as seen in public copies.
struct Vector {
  Framing framing;
  Octets frame;
  Octets stream;
};
const Vector kVectors[] = {
    {Framing::slip,
     {0x01, 0xC0, 0x02, 0xDB, 0x03},
     {0xC0, 0x01, 0xDB, 0xDC, 0x02, 0xDB, 0xDD, 0x03, 0xC0}},
    {Framing::slip, {0xC0, 0xC0}, {0xC0, 0xDB, 0xDC, 0xDB, 0xDC, 0xC0}},
    {Framing::hdlc,
     {0x01, 0x7E, 0x02, 0x7D, 0x03, 0xAB, 0xF7},
     {0x7E, 0x01, 0x7D, 0x5E, 0x02, 0x7D, 0x5D, 0x03, 0xAB, 0xF7, 0x7E}},
    {Framing::hdlc, {0x7E, 0x81, 0x6A}, {0x7E, 0x7D, 0x5E, 0x81, 0x6A, 0x7E}},
    {Framing::cobs, {0x11, 0x22, 0x00, 0x33}, {0x03, 0x11, 0x22, 0x02, 0x33, 0x00}},
    {Framing::cobs, {0x00}, {0x01, 0x01, 0x00}},
    {Framing::cobs, {0x00, 0x00}, {0x01, 0x01, 0x01, 0x00}},
    {Framing::cobs, {0x11, 0x00, 0x00, 0x00}, {0x02, 0x11, 0x01, 0x01, 0x01, 0x00}},
};

TEST(Deframer, AgreesWithPublishedFramesBothWays) {
  for (const Vector& row : kVectors) {
    const FrameFacts facts = facts_of(row.framing);
    EXPECT_EQ(frame_for_stream(facts, row.frame), row.stream);
    const std::vector<Call> expected = {{std::nullopt, row.frame, row.stream.size()}};
    EXPECT_EQ(deframe(facts, row.stream), expected);
    EXPECT_EQ(deframe(facts, row.stream, {1}), expected);
  }
}

TEST(Deframer, TakesAFullCobsGroupWithoutAnEmptyOneBehindIt) {
  // As seen in public copies: FF 01 02 ... FE 00.
  Octets frame(254);
  std::iota(frame.begin(), frame.end(), std::uint8_t{1});
  Octets stream{0xFF};
  append(stream, frame);
  stream.push_back(0);
  EXPECT_EQ(frame_for_stream(facts_of(Framing::cobs), frame), stream);
  EXPECT_EQ(frames_in(facts_of(Framing::cobs), stream), std::vector<Octets>{frame});
}

TEST(Deframer, ChecksTheFramesOfRfc1662ByTheCheckSequenceOfTheSheet) {
  // RFC 1662, computed with Python.
  const FrameCheck check{CheckFacts{.crc = "crc-16/ibm-sdlc", .at = -2}};
  for (const Vector& row : kVectors) {
    if (row.framing == Framing::hdlc) {
      EXPECT_TRUE(check.holds(row.frame));
    }
  }
}

TEST(Deframer, LosesNoOctetUnsaidAndDoesNotCareHowTheStreamIsSplit) {
  for (const Layout& layout : layouts()) {
    EXPECT_TRUE(rc::check(layout.name, [&] {
      const Octets stream = any_stream(layout);
      const auto sizes = *rc::gen::nonEmpty(
          rc::gen::container<std::vector<std::size_t>>(rc::gen::inRange<std::size_t>(1, 40)));
      const std::vector<Call> whole = deframe(layout.facts, stream);
      RC_ASSERT(whole == deframe(layout.facts, stream, sizes));
      RC_ASSERT(whole == deframe(layout.facts, stream, {1}));
      for (const Call& call : whole) {
        RC_ASSERT(call.octets.size() <= static_cast<std::size_t>(layout.facts.most_octets));
        RC_ASSERT(call.octets.size() <= call.taken);
      }
    }));
  }
}

TEST(Deframer, GivesBackEveryFrameOfACleanStream) {
  for (const Layout& layout : layouts()) {
    EXPECT_TRUE(rc::check(layout.name, [&] {
      std::vector<Octets> frames;
      Octets stream;
      const int count = *rc::gen::inRange(1, 6);
      for (int i = 0; i < count; ++i) {
        frames.push_back(any_frame(layout));
        RC_ASSERT(can_carry(layout.facts, frames.back()));
        append(stream, frame_for_stream(layout.facts, frames.back()));
      }
      const std::vector<Call> calls = deframe(layout.facts, stream);
      RC_ASSERT(calls.size() == frames.size());
      for (std::size_t i = 0; i < frames.size(); ++i) {
        RC_ASSERT(!calls[i].fault);
        RC_ASSERT(calls[i].octets == frames[i]);
      }
    }));
  }
}

TEST(Deframer, LosesNoWholeFrameBehindADamagedOne) {
  for (const Layout& layout : layouts()) {
    if (!layout.survives_any_damage) continue;
    EXPECT_TRUE(rc::check(layout.name, [&] {
      Octets stream = frame_for_stream(layout.facts, any_frame(layout));
      damage(stream);
      std::vector<Octets> behind;
      for (int i = 0; i < 3; ++i) {
        behind.push_back(any_frame(layout));
        append(stream, frame_for_stream(layout.facts, behind.back()));
      }
      const std::vector<Octets> found = frames_in(layout.facts, stream);
      RC_ASSERT(found.size() >= behind.size());
      RC_ASSERT(std::equal(behind.rbegin(), behind.rend(), found.rbegin()));
    }));
  }
}

TEST(Deframer, LosesNoWholeFrameBehindOneWithDamageBeforeItsDelimiter) {
  for (const Layout& layout : layouts()) {
    const bool ends = layout.facts.framing == Framing::cobs ||
                      layout.facts.framing == Framing::line ||
                      (layout.facts.framing == Framing::delimited && layout.facts.start.empty() &&
                       !layout.facts.length);
    if (!ends) continue;
    EXPECT_TRUE(rc::check(layout.name, [&] {
      Octets stream = frame_for_stream(layout.facts, any_frame(layout));
      const std::size_t delimiter = std::max<std::size_t>(layout.facts.end.size(), 1);
      Octets before(stream.begin(), stream.end() - static_cast<std::ptrdiff_t>(delimiter));
      damage(before);
      stream.erase(stream.begin(), stream.end() - static_cast<std::ptrdiff_t>(delimiter));
      stream.insert(stream.begin(), before.begin(), before.end());
      const Octets behind = any_frame(layout);
      append(stream, frame_for_stream(layout.facts, behind));
      const std::vector<Octets> found = frames_in(layout.facts, stream);
      RC_ASSERT(!found.empty());
      RC_ASSERT(found.back() == behind);
    }));
  }
}

using Calls = std::vector<Call>;

TEST(SlipDeframer, TakesFramesWithoutALeadingEndAndEmptyOnesAsFill) {
  EXPECT_EQ(deframe(facts_of(Framing::slip), {1, 0xC0, 0xC0, 0xC0, 2, 0xC0}),
            (Calls{{std::nullopt, {1}, 2}, {std::nullopt, {2}, 4}}));
}

TEST(SlipDeframer, LosesFramesWithEscapesThatTheRfcDoesNotHave) {
  EXPECT_EQ(deframe(facts_of(Framing::slip), {1, 0xDB, 2, 0xC0, 3, 0xC0, 0xDB, 0xC0}),
            (Calls{{StreamFault::bad_escape, {1, 0xDB, 2}, 4},
                   {std::nullopt, {3}, 2},
                   {StreamFault::bad_escape, {0xDB}, 2}}));
}

TEST(HdlcDeframer, TakesOneFlagBetweenTwoFrames) {
  EXPECT_EQ(deframe(facts_of(Framing::hdlc), {0x7E, 1, 0x7E, 2, 0x7E}),
            (Calls{{std::nullopt, {1}, 3}, {std::nullopt, {2}, 2}}));
}

TEST(HdlcDeframer, LosesWhatTheSenderAbortedAndWhatStandsBeforeTheFirstFlag) {
  EXPECT_EQ(deframe(facts_of(Framing::hdlc), {9, 0x7E, 1, 0x7D, 0x7E, 2, 0x7E, 3}),
            (Calls{{StreamFault::noise, {9}, 2},
                   {StreamFault::aborted, {1, 0x7D}, 3},
                   {std::nullopt, {2}, 2},
                   {StreamFault::torn, {3}, 1}}));
}

TEST(HdlcDeframer, AnnouncesFlagsThatNothingFollowed) {
  EXPECT_EQ(deframe(facts_of(Framing::hdlc), {0x7E, 1, 0x7E, 0x7E, 0x7E}),
            (Calls{{std::nullopt, {1}, 3}, {StreamFault::noise, {}, 2}}));
}

TEST(HdlcDeframer, HoldsTheBoundAfterEscapesAreUndone) {
  const FrameFacts facts = facts_of(Framing::hdlc, 2);
  EXPECT_EQ(deframe(facts, {0x7E, 0x7D, 0x5E, 0x7D, 0x5D, 0x7E}),
            (Calls{{std::nullopt, {0x7E, 0x7D}, 6}}));
  EXPECT_EQ(deframe(facts, {0x7E, 1, 2, 3, 0x7E, 1, 2, 3, 4, 5, 6, 0x7E, 7, 0x7E}),
            (Calls{{StreamFault::too_long, {1, 2}, 5},
                   {StreamFault::too_long, {1, 2}, 7},
                   {std::nullopt, {7}, 2}}));
}

TEST(CobsDeframer, LosesGroupsThatEndPastTheirFrame) {
  EXPECT_EQ(deframe(facts_of(Framing::cobs), {5, 1, 2, 0, 0, 2, 7, 0, 3, 1}),
            (Calls{{StreamFault::bad_length, {5, 1, 2}, 4},
                   {std::nullopt, {7}, 4},
                   {StreamFault::torn, {3, 1}, 2}}));
}

TEST(LineDeframer, DropsCarriageReturnsAndEmptyLinesAndLosesTornOnes) {
  EXPECT_EQ(
      deframe(facts_of(Framing::line), {'a', '\r', '\n', '\r', '\n', '\n', 'b', '\n', 'c'}),
      (Calls{{std::nullopt, {'a'}, 3}, {std::nullopt, {'b'}, 5}, {StreamFault::torn, {'c'}, 1}}));
}

TEST(LineDeframer, LosesLinesThatAreTooLong) {
  EXPECT_EQ(deframe(facts_of(Framing::line, 2), {'a', 'b', '\r', '\n', 'a', 'b', 'c', '\n'}),
            (Calls{{std::nullopt, {'a', 'b'}, 4}, {StreamFault::too_long, {'a', 'b'}, 4}}));
}

TEST(WholeDeframer, HandsOverAllThatCameAtTheEndIfItIsNotTooLong) {
  EXPECT_EQ(deframe(facts_of(Framing::none, 3), {1, 2, 3}, {2}),
            (Calls{{std::nullopt, {1, 2, 3}, 3}}));
  EXPECT_EQ(deframe(facts_of(Framing::none, 3), {1, 2, 3, 4}, {2}),
            (Calls{{StreamFault::too_long, {1, 2, 3}, 4}}));
  EXPECT_EQ(deframe(facts_of(Framing::none), {}), Calls{});
}

FrameFacts prefixed() {
  FrameFacts facts = facts_of(Framing::length_prefixed, 10);
  facts.start = {0xAA};
  facts.prefix = fleet::LengthPrefix{.at = 1, .octets = 1, .adds = 2};
  return facts;
}

TEST(PrefixedDeframer, NamesLengthsThatNoFrameCanHaveAndGoesOnBehind) {
  EXPECT_EQ(deframe(prefixed(), {7, 0xAA, 1, 5, 0xAA, 9, 0xAA, 1, 6}),
            (Calls{{StreamFault::noise, {7}, 1},
                   {std::nullopt, {0xAA, 1, 5}, 3},
                   {StreamFault::too_long, {0xAA, 9}, 2},
                   {std::nullopt, {0xAA, 1, 6}, 3}}));
  FrameFacts counts_itself = prefixed();
  counts_itself.prefix->adds = 0;
  EXPECT_EQ(deframe(counts_itself, {0xAA, 1, 5, 0xAA, 3, 6}),
            (Calls{{StreamFault::bad_length, {0xAA, 1, 5}, 3}, {std::nullopt, {0xAA, 3, 6}, 3}}));
}

TEST(PrefixedDeframer, FindsAWholeFrameInWhatTheEndOfTheStreamToreOff) {
  EXPECT_EQ(deframe(prefixed(), {0xAA, 8, 0xAA, 1, 6}),
            (Calls{{StreamFault::torn, {0xAA, 8}, 2}, {std::nullopt, {0xAA, 1, 6}, 3}}));
}

TEST(DelimitedDeframer, LosesAFrameInsideWhichAnotherBegins) {
  FrameFacts facts = facts_of(Framing::delimited);
  facts.start = {'$'};
  facts.end = {'\r', '\n'};
  EXPECT_EQ(deframe(facts, {'$', 'a', '$', 'b', '\r', '\n', '$', 'c'}),
            (Calls{{StreamFault::torn, {'$', 'a'}, 2},
                   {std::nullopt, {'$', 'b'}, 4},
                   {StreamFault::torn, {'$', 'c'}, 2}}));
}

TEST(DelimitedDeframer, LosesWhatIsTooLongWithItsTail) {
  FrameFacts facts = facts_of(Framing::delimited, 2);
  facts.end = {'\r', '\n'};
  EXPECT_EQ(deframe(facts, {'a', 'b', 'c', 'd', '\r', '\n', '\r', '\n', 'e', '\r', '\n'}, {1}),
            (Calls{{StreamFault::too_long, {'a', 'b'}, 6}, {std::nullopt, {'e'}, 5}}));
}

TEST(CanCarry, RefusesWhatTheFramingCouldNotTellApart) {
  EXPECT_FALSE(can_carry(facts_of(Framing::line), Octets{'a', '\n', 'b'}));
  EXPECT_FALSE(can_carry(facts_of(Framing::slip), Octets{}));
  EXPECT_FALSE(can_carry(facts_of(Framing::hdlc, 2), Octets{1, 2, 3}));
  EXPECT_FALSE(can_carry(prefixed(), Octets{0xAA, 2, 5}));
  EXPECT_FALSE(can_carry(prefixed(), Octets{0xAB, 1, 5}));
  EXPECT_TRUE(can_carry(prefixed(), Octets{0xAA, 1, 5}));
  FrameFacts delimited = facts_of(Framing::delimited);
  delimited.start = {'$'};
  delimited.end = {';'};
  EXPECT_TRUE(can_carry(delimited, Octets{'$', 'a'}));
  EXPECT_FALSE(can_carry(delimited, Octets{'$', 'a', ';'}));
  EXPECT_FALSE(can_carry(delimited, Octets{'$', 'a', '$'}));
}

}  // namespace
}  // namespace fieldfare::wire
