// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/capture_reader.h"

#include <fmt/format.h>

#include <set>
#include <string_view>
#include <unordered_map>
#include <utility>

#include "fieldfare/wire/internal/capture_link.h"
#include "fieldfare/wire/internal/listeners.h"
#include "fieldfare/wire/internal/time_reader.h"
#include "fieldfare/wire/mac_frame.h"

namespace fieldfare::wire {
namespace {

/// Of the data sequence number in every edition.
constexpr std::uint8_t kSequenceBits = 8;

struct Reason {
  std::string_view code;  ///< listed in docs/formats/log.md
  std::string_view what;
  std::string_view expected;
};
constexpr Reason kCut{"cut-frame", "the frame was captured in part only", "whole frames"};
constexpr Reason kTooLong{"too-long", "the packet is too long for a frame", "at most 4096 octets"};
constexpr Reason kBadHeader{"bad-header", "what should be a frame's header cannot be one",
                            "a header of IEEE 802.15.4"};
constexpr Reason kBadCheck{"bad-check", "the frame's check fails",
                           "nothing: it was damaged on its way"};
constexpr Reason kBadClock{"clock-not-believed", "the time is one of a clock that was not set",
                           "a capture with real times"};
constexpr Reason kBadName{"bad-name", "more nodes than one run can tell apart",
                          "captures with fewer nodes"};
constexpr std::string_view kNoSender = "no-sender";
constexpr std::string_view kForeign = "foreign";
constexpr std::string_view kOtherKind = "other-kind";

std::string hex(std::uint16_t value) { return fmt::format("{:04X}", value); }

/// Addresses that name a single node.
bool names_a_node(const MacParty& party) {
  if (!party.address) return false;
  return party.address->digits != 4 || party.address->value < kNoShortAddress;
}

}  // namespace

class CaptureReader::Impl {
 public:
  Impl(CaptureOptions options, fleet::Labels& labels, Ledger& ledger)
      : options_{std::move(options)}, labels_{labels}, ledger_{ledger} {}

  void feed(const CapturedPacket& packet, const HearingSink& sink) {
    if (fatal_) return;
    ++packets_;
    const auto link = capture_link(packet.link_type);
    if (!link) return give_up(packet.link_type);
    const Numbered numbered{packet, packets_, *link};
    if (packet.octets.size() > kLongestPacket) return skip(numbered, kTooLong);
    if (*link != CaptureLink::with_trailer || trailer_) return take(numbered, sink);
    hold(numbered);
    if (const auto shown = vote_.clear()) {
      decide(*shown, sink);
    } else if (held_.size() == kHeldPackets) {
      decide(vote_.final(), sink);
    }
  }

  void finish(const HearingSink& sink) {
    if (!held_.empty()) decide(vote_.final(), sink);
    for (const auto& [node, listeners] : senders_) {
      if (listeners.several()) labels_.note_counter(node, true, kSequenceBits);
    }
    note_open_pan();
  }

  const std::optional<Complaint>& fatal() const { return fatal_; }
  const std::vector<Complaint>& notes() const { return notes_; }

 private:
  struct Numbered {
    CapturedPacket packet;
    std::uint64_t number;
    CaptureLink link;
  };
  struct Held {
    Numbered numbered;
    std::vector<std::uint8_t> octets;
  };

  void give_up(int link_type) {
    fatal_ = Complaint{
        {options_.file_name, 0, 0},
        fmt::format("the capture's link type is {}, which is not IEEE 802.15.4", link_type),
        "link type 195, 215, 230 or 283"};
  }

  void hold(const Numbered& numbered) {
    const CapturedPacket& packet = numbered.packet;
    held_.push_back({numbered, {packet.octets.begin(), packet.octets.end()}});
    if (packet.octets.size() >= packet.original_octets) vote_.count(packet.octets);
  }

  void decide(Trailer trailer, const HearingSink& sink) {
    trailer_ = trailer;
    const std::string_view what = trailer == Trailer::fcs
                                      ? "the two octets behind a frame are its check"
                                      : "the two octets behind a frame are RSSI, whether the "
                                        "receiver found the check right, and correlation";
    notes_.push_back({{options_.file_name, 0, 0},
                      fmt::format("{} (of the first {} frames, {} hold as a check and {} have the "
                                  "mark of one found right)",
                                  what, vote_.frames(), vote_.checks_held(), vote_.flags_set()),
                      {}});
    const std::vector<Held> held = std::exchange(held_, {});
    for (const Held& one : held) {
      Numbered numbered = one.numbered;
      numbered.packet.octets = one.octets;
      take(numbered, sink);
    }
  }

  void take(const Numbered& numbered, const HearingSink& sink) {
    const CapturedPacket& packet = numbered.packet;
    if (packet.octets.size() < packet.original_octets) return skip(numbered, kCut);
    const auto frame = unwrap(numbered.link, trailer_.value_or(Trailer::fcs), packet.octets);
    if (!frame) return skip(numbered, kBadHeader);
    if (!frame->check_holds) return skip(numbered, kBadCheck);
    const auto type = mac_frame_type(frame->mac);
    if (type && *type > MacFrameType::command) return ledger_.set_aside(kOtherKind);
    const auto header = parse_mac_header(frame->mac);
    if (!header) return skip(numbered, kBadHeader);
    // An acknowledgement carries the number of what it acknowledges, not its own.
    if (header->type == MacFrameType::acknowledgement || !names_a_node(header->source)) {
      return ledger_.set_aside(kNoSender);
    }
    if (!is_believed(packet.time)) return skip(numbered, kBadClock);
    if (is_foreign(header->source)) return ledger_.set_aside(kForeign);
    hear(numbered, *frame, *header, sink);
  }

  void hear(const Numbered& numbered, const CapturedFrame& frame, const MacHeader& header,
            const HearingSink& sink) {
    const auto node = node_of(header.source);
    const auto receiver = labels_.receiver(options_.receiver);
    if (!node || !receiver) return skip(numbered, kBadName);
    Listeners& listeners = sender(*node);
    fleet::Hearing hearing;
    hearing.time = numbered.packet.time;
    hearing.node = *node;
    hearing.receiver = *receiver;
    // Beacons have a counter of their own.
    if (header.type != MacFrameType::beacon) {
      hearing.sequence = header.sequence;
      listeners.count(header);
    }
    hearing.rssi_dbm = frame.rssi_dbm;
    hearing.lqi = frame.lqi;
    ledger_.accept();
    sink(hearing);
  }

  Listeners& sender(fleet::NodeIndex node) {
    const auto [at, is_new] = senders_.try_emplace(node);
    if (is_new) labels_.note_counter(node, false, kSequenceBits);
    return at->second;
  }

  /// The node of the roster that has the address, in the site's network.
  std::optional<fleet::NodeIndex> listed(const MacParty& source) const {
    const bool in_network = source.pan_id && source.pan_id == options_.sieve.pan_id;
    if (source.address->digits == 4 && !in_network) return std::nullopt;
    const auto node = labels_.find(*source.address);
    return node && labels_.label(*node).listed ? node : std::nullopt;
  }

  bool is_foreign(const MacParty& source) {
    const CaptureSieve& sieve = options_.sieve;
    if (sieve.keep_foreign || listed(source)) return false;
    if (sieve.roster_only) {
      look_for_open_pan(source);
      return true;
    }
    return sieve.pan_id && source.pan_id && source.pan_id != sieve.pan_id;
  }

  std::optional<fleet::NodeIndex> node_of(const MacParty& source) {
    if (const auto node = listed(source)) return node;
    const std::string address = source.address->text();
    if (source.address->digits != 4) return labels_.node(address);
    return labels_.node((source.pan_id ? hex(*source.pan_id) : "-") + '/' + address);
  }

  /// A short address of the roster heard where nobody said which network is ours.
  void look_for_open_pan(const MacParty& source) {
    constexpr std::size_t kMostPans = 8;
    if (options_.sieve.pan_id || !source.pan_id || open_pans_.size() == kMostPans) return;
    const auto node = labels_.find(*source.address);
    if (node && labels_.label(*node).listed) open_pans_.insert(*source.pan_id);
  }

  void note_open_pan() {
    if (open_pans_.empty()) return;
    std::string pans;
    for (const std::uint16_t pan : open_pans_) pans += (pans.empty() ? "" : ", ") + hex(pan);
    notes_.push_back({{options_.file_name, 0, 0},
                      "short addresses of the roster were heard in PAN " + pans +
                          ", but the site does not say which PAN is its own",
                      "the right one as `pan_id` under [radio], written as \"0x" +
                          hex(*open_pans_.begin()) + "\""});
  }

  void skip(const Numbered& numbered, const Reason& reason) {
    if (!ledger_.has_room()) return ledger_.skip_unquoted(reason.code);
    // No octets are quoted: the frame may be a neighbour's.
    ledger_.skip({{options_.file_name, static_cast<std::size_t>(numbered.number), 0},
                  std::string{reason.code},
                  std::string{reason.what},
                  std::string{reason.expected},
                  fmt::format("{} octets", numbered.packet.octets.size())});
  }

  CaptureOptions options_;
  fleet::Labels& labels_;
  Ledger& ledger_;
  std::uint64_t packets_ = 0;
  std::optional<Trailer> trailer_;  ///< of link type 195, once it is known
  TrailerVote vote_;
  std::vector<Held> held_;
  std::unordered_map<fleet::NodeIndex, Listeners> senders_;
  std::set<std::uint16_t> open_pans_;
  std::optional<Complaint> fatal_;
  std::vector<Complaint> notes_;
};

CaptureReader::CaptureReader(CaptureOptions options, fleet::Labels& labels, Ledger& ledger)
    : impl_{std::make_unique<Impl>(std::move(options), labels, ledger)} {}
CaptureReader::~CaptureReader() = default;
CaptureReader::CaptureReader(CaptureReader&&) noexcept = default;
CaptureReader& CaptureReader::operator=(CaptureReader&&) noexcept = default;

void CaptureReader::feed(const CapturedPacket& packet, const HearingSink& sink) {
  impl_->feed(packet, sink);
}
void CaptureReader::finish(const HearingSink& sink) { impl_->finish(sink); }
const std::optional<Complaint>& CaptureReader::fatal() const { return impl_->fatal(); }
const std::vector<Complaint>& CaptureReader::notes() const { return impl_->notes(); }

}  // namespace fieldfare::wire
