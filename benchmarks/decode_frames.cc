// SPDX-License-Identifier: Apache-2.0
// How long a frame takes from the bytes of a serial port to its check: HDLC-like
// framing with CRC-16, about 24 octets a frame, a feed of 4096 octets at a time.
// Beside it what a reader can hardly do without: copying the bytes, and a CRC of
// each frame by a table of 256 entries. Prints `name value unit` lines. All data is
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

namespace {

namespace fleet = fieldfare::fleet;
namespace wire = fieldfare::wire;

constexpr std::size_t kFrames = 1'000'000;
constexpr std::size_t kFrameOctets = 22;  // and two flags
constexpr std::size_t kFeed = 4096;
constexpr int kRounds = 5;

fleet::FrameFacts facts() {
  fleet::FrameFacts frame;
  frame.framing = fleet::Framing::hdlc;
  frame.check = fleet::CheckFacts{.crc = "crc-16/ibm-sdlc", .at = -2};
  return frame;
}

const fleet::Octets& stream() {
  static const fleet::Octets octets = [] {
    fieldfare::RandomStream random{1, "decode_frames"};
    const fleet::FrameFacts frame = facts();
    const wire::FrameCheck check{*frame.check};
    fleet::Octets out;
    fleet::Octets one(kFrameOctets);
    for (std::size_t i = 0; i < kFrames; ++i) {
      for (auto& octet : one) octet = static_cast<std::uint8_t>(random.below(256));
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
    if (read() != kFrames) std::puts("decode_frames_lost 1 bool");
    rates.push_back(static_cast<double>(kFrames) / (cpu_seconds() - start));
  }
  std::sort(rates.begin(), rates.end());
  return rates[rates.size() / 2];
}

}  // namespace

int main() {
  stream();
  std::printf("decode_frames_hdlc_crc16 %.0f frames_per_cpu_s\n",
              frames_per_second(deframe_and_check));
  std::printf("decode_frames_copy_and_crc %.0f frames_per_cpu_s\n",
              frames_per_second(copy_and_crc));
}
