// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <span>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/wire/check.h"
#include "fieldfare/wire/deframer.h"

namespace {

namespace fleet = fieldfare::fleet;
namespace wire = fieldfare::wire;

/// What a stream came to, as far as two readings of it are compared.
class Sums final : public wire::FrameSink {
 public:
  explicit Sums(std::size_t most) : most_{most} {}

  void frame(std::span<const std::uint8_t> octets, std::size_t taken) override {
    add(0xFF, octets, taken);
  }
  void lost(wire::StreamFault fault, std::span<const std::uint8_t> octets,
            std::size_t taken) override {
    add(static_cast<std::uint64_t>(fault), octets, taken);
  }

  std::uint64_t taken = 0;
  std::uint64_t calls = 0;
  std::uint64_t hash = 0;

 private:
  void add(std::uint64_t kind, std::span<const std::uint8_t> octets, std::size_t count) {
    if (octets.size() > most_ || octets.size() > count) std::abort();
    ++calls;
    taken += count;
    mix(kind);
    mix(count);
    for (const std::uint8_t octet : octets) mix(octet);
  }
  void mix(std::uint64_t value) { hash = hash * 1'099'511'628'211U + value + 1; }

  std::size_t most_;
};

/// Reads the stream in pieces, each a copy of its own size. Ends the program where
/// an octet is neither in a call nor pending.
Sums deframe(const fleet::FrameFacts& facts, std::span<const std::uint8_t> stream,
             std::size_t piece) {
  Sums sums{static_cast<std::size_t>(facts.most_octets)};
  const auto deframer = wire::make_deframer(facts);
  std::size_t fed = 0;
  while (fed < stream.size()) {
    const auto part = stream.subspan(fed, std::min(piece, stream.size() - fed));
    const std::vector<std::uint8_t> copy(part.begin(), part.end());
    deframer->feed(copy, sums);
    fed += copy.size();
    if (sums.taken + deframer->pending() != fed) std::abort();
  }
  deframer->finish(sums);
  if (sums.taken != fed || deframer->pending() != 0) std::abort();
  return sums;
}

/// Takes one parameter after the other from the front of the input.
class Parameters {
 public:
  explicit Parameters(std::span<const std::uint8_t> octets) : octets_{octets} {}

  int next(int bound) {
    if (octets_.empty()) return 0;
    const int value = octets_.front() % bound;
    octets_ = octets_.subspan(1);
    return value;
  }
  fleet::Octets some(int bound) {
    fleet::Octets out;
    for (int left = next(bound); left > 0; --left) {
      out.push_back(static_cast<std::uint8_t>(next(256)));
    }
    return out;
  }
  std::span<const std::uint8_t> rest() const { return octets_; }

 private:
  std::span<const std::uint8_t> octets_;
};

fleet::FrameFacts any_facts(Parameters& parameters) {
  fleet::FrameFacts facts;
  facts.framing = static_cast<fleet::Framing>(parameters.next(7));
  facts.most_octets = 1 + parameters.next(256);
  const bool is_prefixed = facts.framing == fleet::Framing::length_prefixed;
  if (is_prefixed || facts.framing == fleet::Framing::delimited) {
    facts.start = parameters.some(4);
  }
  if (facts.framing == fleet::Framing::delimited) {
    facts.end = parameters.some(4);
    if (parameters.next(2) == 1) facts.length = parameters.next(256);
  }
  if (is_prefixed) {
    facts.prefix = fleet::LengthPrefix{.at = parameters.next(8),
                                       .octets = 1 + parameters.next(4),
                                       .order = static_cast<fleet::ByteOrder>(parameters.next(2)),
                                       .adds = parameters.next(16) - 8};
  }
  if (parameters.next(2) == 1) {
    fleet::CheckFacts check;
    check.kind = static_cast<fleet::CheckKind>(parameters.next(3));
    check.crc = "crc-8/smbus";
    check.octets = 1;
    check.as_hex_digits = parameters.next(2) == 1;
    check.at = parameters.next(16) - 8;
    check.from = parameters.next(16) - 8;
    check.to = parameters.next(16) - 8;
    facts.check = check;
  }
  fleet::FieldLayout field;
  field.name = "first";
  field.place = fleet::AtOctet{0, fleet::NumberForm{}};
  facts.fields.push_back(field);
  return facts;
}

}  // namespace

/// The first octets choose a framing, its parameters and the size of a piece; the
/// rest is the stream. Ends the program where octets get lost unsaid, where the
/// stream read in pieces gives other frames than in one go, or where a frame that the
/// framing can carry leaves no trace in its stream.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  Parameters parameters{{data, size}};
  const std::size_t piece = 1 + static_cast<std::size_t>(parameters.next(64));
  const fleet::FrameFacts facts = any_facts(parameters);
  if (!fleet::faults_of(facts).empty()) return 0;
  const auto stream = parameters.rest();
  const Sums whole = deframe(facts, stream, stream.size() + 1);
  const Sums parts = deframe(facts, stream, piece);
  if (whole.calls != parts.calls || whole.hash != parts.hash) std::abort();
  if (facts.check) wire::FrameCheck{*facts.check}.holds(stream);
  if (!wire::can_carry(facts, stream)) return 0;
  const fleet::Octets sent = wire::frame_for_stream(facts, stream);
  if (deframe(facts, sent, piece).calls == 0) std::abort();
  return 0;
}
