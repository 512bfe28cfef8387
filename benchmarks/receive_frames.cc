// SPDX-License-Identifier: Apache-2.0
// How long a frame takes from the bytes of a serial port to its check, and to its
// hearing as a sheet describes it: HDLC-like framing with CRC-16, about 24 octets a
// frame with address, counter, three readings and the supply, 50 nodes, a feed of
// 4096 octets at a time. Beside it what a reader can hardly do without: copying the bytes, and a
// CRC of each frame by a table of 256 entries. Prints `name value unit` lines. All data is
// invented.

#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <ctime>
#include <span>
#include <vector>

#include "fieldfare/base/random.h"
#include "fieldfare/fleet/frame.h"
#include "fieldfare/wire/check.h"
#include "fieldfare/wire/deframer.h"
#include "fieldfare/wire/stream_decoder.h"

namespace {

namespace fleet = fieldfare::fleet;
namespace wire = fieldfare::wire;

constexpr std::size_t kFrames = 1'000'000;
constexpr std::size_t kFrameOctets = 22;  // and two flags
constexpr std::size_t kFeed = 4096;
constexpr int kRounds = 5;

constexpr std::size_t kNodes = 50;

fleet::FieldLayout number(const char* name, fleet::FieldRole role, fleet::NumberForm form) {
  fleet::FieldLayout field;
  field.name = name;
  field.role = role;
  field.place = fleet::AtOctet{{}, form};
  field.conversion.scale = form.octets == 2 ? 0.01 : 1;
  return field;
}

fleet::FrameFacts facts() {
  using fleet::FieldRole;
  using fleet::NumberKind;
  fleet::FrameFacts frame;
  fleet::FieldLayout node;
  node.name = "node";
  node.role = FieldRole::address;
  node.place = fleet::AtOctet{{}, fleet::OctetsForm{8, fleet::ByteOrder::big}};
  frame.fields = {node,
                  number("seq", FieldRole::sequence, {NumberKind::unsigned_integer, 4}),
                  number("temperature_c", FieldRole::reading, {NumberKind::signed_integer, 2}),
                  number("humidity_pct", FieldRole::reading, {NumberKind::unsigned_integer, 2}),
                  number("surface_c", FieldRole::reading, {NumberKind::signed_integer, 2}),
                  number("supply", FieldRole::supply, {NumberKind::unsigned_integer, 2})};
  frame.framing = fleet::Framing::hdlc;
  frame.check = fleet::CheckFacts{.crc = "crc-16/ibm-sdlc", .at = -2};
  return frame;
}

const fleet::Octets& stream() {
  static const fleet::Octets octets = [] {
    fieldfare::RandomStream random{1, "receive_frames"};
    const fleet::FrameFacts frame = facts();
    const wire::FrameCheck check{*frame.check};
    fleet::Octets out;
    fleet::Octets one(kFrameOctets);
    for (std::size_t i = 0; i < kFrames; ++i) {
      for (auto& octet : one) octet = static_cast<std::uint8_t>(random.below(256));
      std::fill(one.begin(), one.begin() + 7, std::uint8_t{0x02});
      one[7] = static_cast<std::uint8_t>(i % kNodes);
      check.write(one);
      const fleet::Octets framed = wire::frame_for_stream(frame, one);
      out.insert(out.end(), framed.begin(), framed.end());
    }
    return out;
  }();
  return octets;
}

class Checker final : public wire::FrameSink {
 public:
  explicit Checker(const fleet::CheckFacts& check) : check_{check} {}
  void frame(std::span<const std::uint8_t> octets, std::size_t /*taken*/) override {
    if (check_.holds(octets)) ++whole;
  }
  void lost(wire::StreamFault /*fault*/, std::span<const std::uint8_t> /*octets*/,
            std::size_t /*taken*/) override {}

  std::size_t whole = 0;

 private:
  wire::FrameCheck check_;
};

double cpu_seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

/// Reads the stream once; gives the number of whole frames.
std::size_t deframe_and_check() {
  const fleet::FrameFacts frame = facts();
  const std::span<const std::uint8_t> octets = stream();
  Checker checker{*frame.check};
  const auto deframer = wire::make_deframer(frame);
  for (std::size_t at = 0; at < octets.size(); at += kFeed) {
    deframer->feed(octets.subspan(at, std::min(kFeed, octets.size() - at)), checker);
  }
  return checker.whole;
}

class Counter final : public wire::HearingStream {
 public:
  void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t> /*tag*/) override {
    heard += hearing.readings.size() == 3 ? 1 : 0;
  }
  void unread(const wire::Unread& /*unread*/) override {}
  std::size_t heard = 0;
};

/// Reads the stream into hearings; gives their number.
std::size_t decode() {
  const fleet::FrameFacts frame = facts();
  const std::span<const std::uint8_t> octets = stream();
  fleet::Labels labels;
  wire::DecoderOptions options;
  options.known = {{"probe", &frame, 0}};
  wire::StreamDecoder decoder{options, labels};
  Counter counter;
  for (std::size_t at = 0; at < octets.size(); at += kFeed) {
    decoder.feed(octets.subspan(at, std::min(kFeed, octets.size() - at)), {}, counter);
  }
  return counter.heard;
}

/// Copies the bytes and takes a CRC of as many octets as the frames have.
std::size_t copy_and_crc() {
  static std::uint16_t table[256];
  for (unsigned octet = 0; octet < 256; ++octet) {
    unsigned reg = octet;
    for (int bit = 0; bit < 8; ++bit) reg = (reg & 1) != 0 ? reg >> 1 ^ 0x8408U : reg >> 1;
    table[octet] = static_cast<std::uint16_t>(reg);
  }
  const fleet::Octets copy = stream();
  unsigned zeros = 0;
  for (std::size_t i = 0; i < kFrames; ++i) {
    unsigned reg = 0xFFFF;
    for (std::size_t at = i * kFrameOctets; at < (i + 1) * kFrameOctets; ++at) {
      reg = table[(reg ^ copy[at]) & 0xFFU] ^ reg >> 8;
    }
    if (reg == 0) ++zeros;  // so that the CRC is used
  }
  return zeros < kFrames ? kFrames : 0;
}

/// The median over some rounds, in frames per CPU second.
double frames_per_second(std::size_t (*read)()) {
  std::vector<double> rates;
  for (int round = 0; round < kRounds; ++round) {
    const double start = cpu_seconds();
    if (read() != kFrames) std::puts("receive.frames-lost 1 bool");
    rates.push_back(static_cast<double>(kFrames) / (cpu_seconds() - start));
  }
  std::sort(rates.begin(), rates.end());
  return rates[rates.size() / 2];
}

}  // namespace

int main() {
  stream();
  const double decoded = frames_per_second(decode);
  const double checked = frames_per_second(deframe_and_check);
  const double copied = frames_per_second(copy_and_crc);
  std::printf("receive.decode-hdlc-crc16 %.0f frames/CPU_s\n", decoded);
  std::printf("receive.deframe-and-check %.0f frames/CPU_s\n", checked);
  std::printf("receive.copy-and-crc %.0f frames/CPU_s\n", copied);
  std::printf("ratio receive.decode-of-copy-and-crc %.3f\n", decoded / copied);
}
