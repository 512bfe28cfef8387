// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/inlet.h"

#include <algorithm>
#include <utility>

namespace fieldfare::app {
namespace {

/// Files are taken up at one place; of messages the last many are remembered.
bool keeps_one_mark(const fleet::Endpoint& endpoint) {
  return !std::holds_alternative<fleet::MqttEndpoint>(endpoint);
}

}  // namespace

Inlet::Inlet(InletPlan plan, fleet::Labels& labels, const wire::DecoderOptions& options,
             MarkBefore mark_before)
    : plan_{std::move(plan)}, decoder_{options, labels}, mark_before_{std::move(mark_before)} {}

void Inlet::take_up(std::vector<std::uint64_t> marks) { marks_ = std::move(marks); }

std::span<const std::uint64_t> Inlet::marks() const {
  return std::span{marks_}.last(std::min(marks_.size(), source::kMostMarks));
}

void Inlet::resume(std::string_view first_line) {
  decoder_.resume({reinterpret_cast<const std::uint8_t*>(first_line.data()), first_line.size()});
}

void Inlet::read(const QueuedArrival& arrival, std::span<const std::uint8_t> octets,
                 wire::HearingStream& out) {
  if (arrival.whole) {
    decoder_.message(octets, {arrival.at, arrival.held_back}, out);
  } else {
    decoder_.feed(octets, arrival.at, out);
  }
  last_ticket_ = arrival.ticket;
  if (arrival.mark != 0) note_mark(arrival.mark);
  note_awake(arrival.at);
}

void Inlet::note_mark(std::uint64_t mark) {
  if (keeps_one_mark(plan_.endpoint)) {
    // What is not a whole frame yet has to be read again by whoever goes on.
    const std::uint64_t pending = decoder_.ledger().bytes_pending;
    if (const auto place = pending == 0 ? std::optional{mark} : mark_before_(mark, pending)) {
      marks_.assign(1, *place);
    }
    return;
  }
  if (marks_.size() >= 2 * source::kMostMarks) {
    marks_.erase(marks_.begin(), marks_.end() - source::kMostMarks);
  }
  marks_.push_back(mark);
}

void Inlet::end(Instant at, wire::HearingStream& out) {
  // The rest of a file is read by the next run, from the mark before it.
  if (!std::holds_alternative<fleet::FileEndpoint>(plan_.endpoint)) decoder_.finish(at, out);
  note_awake(at);
}

/// True where what comes after the change joins what came before it. Of a file
/// that is gone nobody knows yet.
bool Inlet::is_joined(const source::Change& change) const {
  if (change.condition == source::Condition::up) return change.goes_on;
  return std::holds_alternative<fleet::FileEndpoint>(plan_.endpoint);
}

void Inlet::change(const source::Change& change, wire::HearingStream& out) {
  condition_ = change.condition;
  if (!is_joined(change)) decoder_.finish(change.at, out);
  if (change.condition == source::Condition::up) {
    if (!awake_) awake_ = Awake{change.at, change.at};
  } else if (awake_) {
    awake_->to = std::max(awake_->to, change.at);
    last_awake_ = std::exchange(awake_, std::nullopt);
  }
}

std::optional<Awake> Inlet::tick(Instant at) {
  if (!awake_) return std::nullopt;
  const Duration since = at - awake_->to;
  if (since <= kLongestBlink && since.ns >= -kLongestBlink.ns) {
    awake_->to = std::max(awake_->to, at);
    return std::nullopt;
  }
  return std::exchange(awake_, Awake{at, at});
}

store::SourceTotals Inlet::run(Instant now) const {
  store::SourceTotals totals;
  totals.source = plan_.receiver;
  totals.endpoint = fleet::text_of(plan_.endpoint);
  totals.ledger = decoder_.ledger();
  totals.repeated = repeated_;
  totals.at = now;
  return totals;
}

store::SourceTotals Inlet::totals(Instant now) const {
  store::SourceTotals totals = run(now);
  wire::StreamLedger ledger = before_.ledger;
  // What an earlier run left undecided was lost with it, or is read once more.
  ledger.bytes_fed -= std::exchange(ledger.bytes_pending, 0);
  totals.ledger.add(ledger);
  totals.repeated += before_.repeated;
  totals.dropped_bytes += before_.dropped_bytes;
  return totals;
}

std::optional<std::string> Inlet::suspicion() {
  constexpr std::uint64_t kEnoughBytes = 1000;
  const wire::StreamLedger& ledger = decoder_.ledger();
  if (was_suspicious_ || ledger.frames_read > 0 || ledger.bytes_fed < kEnoughBytes) {
    return std::nullopt;
  }
  was_suspicious_ = true;
  const auto* serial = std::get_if<fleet::SerialEndpoint>(&plan_.endpoint);
  const std::string bytes = std::to_string(ledger.bytes_fed);
  if (serial == nullptr) {
    return bytes + " bytes came and nothing in them could be read; is this the right sheet?";
  }
  return bytes + " bytes came and no frame among them: is the speed of " +
         std::to_string(serial->baud) +
         " baud right, and the parity? Set `?baud=...&parity=...` in its source; if they are, "
         "its sheet describes other frames";
}

}  // namespace fieldfare::app
