// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_sources.h"

#include <string>

namespace fieldfare::app {
namespace {

/// Bytes of which no frame could be told are worth a word from here on.
constexpr std::uint64_t kManyOctets = 400;

std::string where_words(const fleet::Endpoint& endpoint) {
  const auto* serial = std::get_if<fleet::SerialEndpoint>(&endpoint);
  return serial != nullptr ? serial->device : fleet::text_of(endpoint);
}

std::string speed_advice(const fleet::Endpoint& endpoint) {
  const auto* serial = std::get_if<fleet::SerialEndpoint>(&endpoint);
  if (serial == nullptr) return "bytes come, and no frame can be told in them yet";
  return "bytes come, and no frame can be told in them: is the speed of " +
         std::to_string(serial->baud) + " baud right? Leave, and try --baud 9600, 57600 or 115200";
}

void count_frames(const DeskInlets& inlets, const DeskWay& way, Instant now,
                  work::DeskSource& source) {
  for (const Inlet& inlet : inlets.inlets()) {
    if (inlet.receiver() != way.plan.receiver) continue;
    const wire::StreamLedger ledger = inlet.run(now).ledger;
    source.frames = ledger.frames_read;
    source.unread = ledger.frames_unread;
    for (const auto& [reason, count] : ledger.lost_by_reason) source.unread += count;
  }
}

}  // namespace

work::DeskSource desk_source(const DeskWay& way, const DeskRecord& record, const DeskInlets* inlets,
                             Instant now) {
  work::DeskSource source;
  source.name = way.plan.receiver;
  source.where = where_words(way.plan.endpoint);
  source.is_up = way.is_up;
  source.state = way.change.what;
  if (source.state.empty()) source.state = way.is_up ? "listening" : "not listening yet";
  source.remedy = way.change.remedy;
  source.octets = way.octets;
  if (inlets != nullptr) count_frames(*inlets, way, now, source);
  if (!record.trouble().empty()) {
    source.remedy = "bytes wait to be written to " + record.path() + ": " + record.trouble();
  } else if (source.remedy.empty() && source.frames == 0 && way.octets >= kManyOctets) {
    source.remedy = speed_advice(way.plan.endpoint);
  }
  return source;
}

}  // namespace fieldfare::app
