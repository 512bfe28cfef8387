// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <span>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/learn.h"

namespace {

namespace fleet = fieldfare::fleet;
namespace learn = fieldfare::learn;

constexpr std::size_t kMostOctets = 4096;

/// The first octet says how the rest comes: as messages or as a stream, with or without
/// times, and whether labels were said; the second how many octets arrive at a time.
learn::Sample sample_of(std::span<const std::uint8_t> data) {
  learn::Sample out;
  if (data.size() < 2) return out;
  const std::uint8_t how = data[0];
  const std::size_t piece = 1 + data[1] % 64;
  data = data.subspan(2).first(std::min(data.size() - 2, kMostOctets));
  fieldfare::Instant now{1'772'431'200'000'000'000};
  while (!data.empty()) {
    const std::span<const std::uint8_t> next = data.first(std::min(piece, data.size()));
    learn::Arrival arrival;
    if ((how & 1) != 0) arrival.at = now;
    arrival.octets.assign(next.begin(), next.end());
    arrival.whole = (how & 2) != 0;
    out.arrivals.push_back(arrival);
    data = data.subspan(next.size());
    now = now + fieldfare::Duration::seconds(5);
  }
  if ((how & 4) != 0) out.labels = {"3C07", "51D2", "9E4B", "7", "0012"};
  if ((how & 8) != 0) out.provoked = {{now, "51D2"}};
  if ((how & 16) != 0) out.values = {{"temperature_c", 21.4, 0.1, {}, {}}};
  return out;
}

}  // namespace

/// Whatever came, what is learnt of it can be relied on by those who write it down:
/// a layout without faults, marks within the frame, findings about fields there are.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const learn::Learnt learnt = learn::learn(sample_of({data, size}));
  if (learnt.findings.empty()) std::abort();
  if (learnt.sound > learnt.frames) std::abort();
  if (learnt.frame && !fleet::faults_of(*learnt.frame).empty()) std::abort();
  const std::size_t fields = learnt.frame ? learnt.frame->fields.size() : 0;
  for (const learn::Finding& finding : learnt.findings) {
    if (finding.what.empty() || (finding.field && *finding.field >= fields)) std::abort();
  }
  for (const learn::Mark& mark : learnt.marks) {
    if (mark.from > mark.to || mark.to > learnt.example.size()) std::abort();
  }
  return 0;
}
