// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/base/random.h"
#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/learn.h"
#include "fieldfare/wire/check.h"
#include "fieldfare/wire/deframer.h"

// Devices of which tests know what there is to learn. Invented throughout.
namespace fieldfare::learn {

/// Frames of: start, length, header, address, counter, one reading, check.
struct MadeDevice {
  fleet::FrameFacts frame;  ///< framing, start, end, prefix and check; no fields
  fleet::Octets header = {0x91, 0x42};
  std::vector<std::uint64_t> addresses = {0x0200'0000'00A1'3C07, 0x0200'0000'00A1'51D2,
                                          0x0200'0000'00A1'9E4B, 0x0200'0000'00A1'C0F8,
                                          0x0200'0000'00A1'E763};
  std::size_t address_octets = 8;
  fleet::ByteOrder address_order = fleet::ByteOrder::big;
  std::size_t counter_octets = 2;
  fleet::ByteOrder counter_order = fleet::ByteOrder::big;
  std::vector<std::uint64_t> counters = {700, 21'000, 3'333, 9'100, 47'011};
  std::size_t most_extra = 0;  ///< frames are longer by 0 to so many octets
};

inline void append_number(fleet::Octets& out, std::uint64_t number, std::size_t octets,
                          fleet::ByteOrder order) {
  for (std::size_t i = 0; i < octets; ++i) {
    const std::size_t octet = order == fleet::ByteOrder::little ? i : octets - 1 - i;
    out.push_back(static_cast<std::uint8_t>(number >> 8 * octet));
  }
}

/// How much of what is sent gets hurt, and what else comes.
struct Harm {
  double damaged = 0;
  double noise = 0;
};

class MadeSample {
 public:
  MadeSample(MadeDevice device, std::uint64_t seed)
      : device_{std::move(device)}, random_{seed, "learn"} {
    for (const std::uint64_t address : device_.addresses) {
      fleet::Octets octets;
      append_number(octets, address, 2, fleet::ByteOrder::big);
      std::string digits;
      for (const std::uint8_t octet : octets) {
        digits += "0123456789ABCDEF"[octet >> 4];
        digits += "0123456789ABCDEF"[octet & 0xF];
      }
      sample.labels.push_back(digits);
    }
  }

  /// Reports of the nodes in turn, as they come; one in twelve is lost on its way.
  void send(std::size_t frames, const Harm& harm = {}) {
    for (std::size_t i = 0; i < frames; ++i) {
      const std::size_t node = turn_++ % device_.addresses.size();
      device_.counters[node] += random_.bernoulli(1.0 / 12) ? 2 : 1;
      fleet::Octets octets = on_stream(frame_of(node));
      if (random_.bernoulli(harm.noise)) arrive(some_octets(1 + random_.below(10)));
      if (random_.bernoulli(harm.damaged)) damage(octets);
      arrive(std::move(octets));
    }
  }

  /// The node starts anew with this number, and somebody says so.
  void restart(std::size_t node, std::uint64_t counter) {
    device_.counters[node] = counter;
    now_ = now_ + Duration::seconds(7);
    sample.provoked.push_back({now_, sample.labels[node]});
    arrive(on_stream(frame_of(node)));
  }

  fleet::Octets frame_of(std::size_t node) {
    const fleet::FrameFacts& facts = device_.frame;
    fleet::Octets out = facts.start;
    const std::size_t before = out.size();
    if (facts.prefix) out.resize(before + static_cast<std::size_t>(facts.prefix->octets));
    out.insert(out.end(), device_.header.begin(), device_.header.end());
    append_number(out, device_.addresses[node], device_.address_octets, device_.address_order);
    append_number(out, device_.counters[node], device_.counter_octets, device_.counter_order);
    // A temperature of 2 octets, and as many octets of no order as the kind wants.
    append_number(out, 2000 + random_.below(300), 2, fleet::ByteOrder::big);
    if (device_.most_extra > 0) {
      const fleet::Octets extra = some_octets(random_.below(device_.most_extra + 1));
      out.insert(out.end(), extra.begin(), extra.end());
    }
    if (facts.check && facts.check->at < 0)
      out.resize(out.size() + static_cast<std::size_t>(-facts.check->at));
    if (facts.prefix) {
      fleet::Octets said;
      append_number(said, out.size() - static_cast<std::size_t>(facts.prefix->adds),
                    static_cast<std::size_t>(facts.prefix->octets), facts.prefix->order);
      std::copy(said.begin(), said.end(), out.begin() + facts.prefix->at);
    }
    if (facts.check) wire::FrameCheck{*facts.check}.write(out);
    return out;
  }

  Sample sample;

 private:
  fleet::Octets on_stream(const fleet::Octets& frame) const {
    return wire::frame_for_stream(device_.frame, frame);
  }
  fleet::Octets some_octets(std::size_t count) {
    fleet::Octets out(count);
    for (std::uint8_t& octet : out) octet = static_cast<std::uint8_t>(random_.below(256));
    return out;
  }
  void damage(fleet::Octets& octets) {
    const std::size_t at = random_.below(octets.size());
    const auto place = octets.begin() + static_cast<std::ptrdiff_t>(at);
    switch (random_.below(3)) {
      case 0:
        octets[at] ^= static_cast<std::uint8_t>(1 + random_.below(255));
        break;
      case 1:
        octets.erase(place, octets.end());
        break;
      default:
        octets.insert(place, static_cast<std::uint8_t>(random_.below(256)));
    }
  }
  void arrive(fleet::Octets octets) {
    now_ = now_ + Duration::seconds(7);
    if (octets.empty()) return;
    sample.arrivals.push_back(
        {now_, std::move(octets), device_.frame.framing == fleet::Framing::none});
  }

  MadeDevice device_;
  RandomStream random_;
  std::size_t turn_ = 0;
  Instant now_{1'772'431'200'000'000'000};
};

/// The sureness of a part; open where nothing is said about it.
inline Sureness sureness_of_part(const Learnt& learnt, const std::string& part) {
  for (const Finding& finding : learnt.findings) {
    if (finding.part == part) return finding.sureness;
  }
  return Sureness::open;
}

/// Place and form of the field with this role; null where there is none.
inline const fleet::AtOctet* place_of(const Learnt& learnt, fleet::FieldRole role) {
  if (!learnt.frame) return nullptr;
  for (const fleet::FieldLayout& field : learnt.frame->fields) {
    if (field.role == role) return std::get_if<fleet::AtOctet>(&field.place);
  }
  return nullptr;
}

}  // namespace fieldfare::learn
