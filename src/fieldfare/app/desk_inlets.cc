// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_inlets.h"

#include <algorithm>

namespace fieldfare::app {

DeskInlets::DeskInlets(std::span<const InletPlan> plans, fleet::Labels& labels,
                       const KindOf& kind_of) {
  inlets_.reserve(plans.size());
  for (const InletPlan& plan : plans) {
    wire::DecoderOptions options;
    options.source = fleet::text_of(plan.endpoint);
    options.receiver = plan.receiver;
    options.receiver_frame = plan.receiver_frame;
    options.known = plan.known;
    options.kind_of = kind_of;
    inlets_.emplace_back(plan, labels, options,
                         [](std::uint64_t, std::uint64_t) { return std::nullopt; });
  }
}

Inlet* DeskInlets::find(std::string_view receiver) {
  const auto found = std::find_if(inlets_.begin(), inlets_.end(),
                                  [&](const Inlet& inlet) { return inlet.receiver() == receiver; });
  return found == inlets_.end() ? nullptr : &*found;
}

void DeskInlets::begin_stretch(Inlet& inlet, Instant at, wire::HearingStream& out,
                               const StretchEnded& ended) {
  // A listener that was killed said no word of it: it heard up to its last event.
  if (inlet.is_up()) end_stretch(inlet, inlet.awake()->to, out, ended);
  inlet.change({at, source::Condition::up, {}, {}, false}, out);
}

void DeskInlets::end_stretch(Inlet& inlet, Instant at, wire::HearingStream& out,
                             const StretchEnded& ended) {
  const bool was_up = inlet.is_up();
  inlet.change({at, source::Condition::down, {}, {}, false}, out);
  if (was_up && ended) ended(inlet, *inlet.awake());
}

void DeskInlets::feed(const wire::LoggedBytes& logged, wire::HearingStream& out,
                      const StretchEnded& ended, std::uint64_t mark) {
  Inlet* inlet = find(logged.receiver);
  if (inlet == nullptr || !logged.at) return;
  current_ = inlet;
  QueuedArrival arrival;
  arrival.at = *logged.at;
  arrival.mark = mark;
  switch (logged.event) {
    case wire::ByteEvent::stream:
      inlet->read(arrival, logged.octets, out);
      break;
    case wire::ByteEvent::message:
    case wire::ByteEvent::waited:
      arrival.whole = true;
      arrival.held_back = logged.event == wire::ByteEvent::waited;
      inlet->read(arrival, logged.octets, out);
      break;
    case wire::ByteEvent::up:
      begin_stretch(*inlet, *logged.at, out, ended);
      break;
    case wire::ByteEvent::alive:
      inlet->note_awake(*logged.at);
      break;
    case wire::ByteEvent::down:
      end_stretch(*inlet, *logged.at, out, ended);
      break;
    case wire::ByteEvent::said:
      break;
  }
}

}  // namespace fieldfare::app
