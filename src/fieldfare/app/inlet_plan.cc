// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/inlet_plan.h"

#include <algorithm>
#include <utility>

namespace fieldfare::app {
namespace {

/// The sheets that nodes of the site have, those with a frame, each once.
std::vector<wire::KnownFrame> frames_of_nodes(const fleet::Site& site) {
  std::vector<wire::KnownFrame> frames;
  for (std::size_t i = 0; i < site.node_sheets.size(); ++i) {
    const fleet::NodeSheet& sheet = site.node_sheets[i];
    const bool used = std::any_of(site.nodes.begin(), site.nodes.end(),
                                  [&](const fleet::Node& node) { return node.sheet == i; });
    if (used && sheet.frame) {
      frames.push_back({sheet.head.name, &*sheet.frame, static_cast<std::uint32_t>(i)});
    }
  }
  return frames;
}

bool is_stream(const fleet::Endpoint& endpoint) {
  return !std::holds_alternative<fleet::UdpEndpoint>(endpoint) &&
         !std::holds_alternative<fleet::MqttEndpoint>(endpoint);
}

bool is_framed(const wire::KnownFrame& known) {
  return known.frame->framing != fleet::Framing::none;
}

Complaint about(const std::string& receiver, std::string what, std::string expected) {
  return {{}, "receiver " + receiver + ": " + std::move(what), std::move(expected)};
}

/// What keeps a stream from being cut into frames.
std::optional<Complaint> framing_trouble(const InletPlan& plan) {
  if (!is_stream(plan.endpoint) || plan.reads_rows()) return std::nullopt;
  if (plan.receiver_frame != nullptr) {
    if (plan.receiver_frame->framing != fleet::Framing::none) return std::nullopt;
    return about(plan.receiver, "its sheet says no framing, and a stream has to be cut",
                 "`framing` in [frame] of the receiver's sheet");
  }
  const auto first = std::find_if(plan.known.begin(), plan.known.end(), is_framed);
  if (first == plan.known.end()) {
    return about(plan.receiver,
                 "none of the sheets of the site's nodes says how a stream is cut into frames",
                 "`framing` in their [frame], or a sheet for the receiver with a [frame]");
  }
  const auto other = std::find_if(first, plan.known.end(), [&](const wire::KnownFrame& known) {
    return is_framed(known) && !wire::share_framing(*known.frame, *first->frame);
  });
  if (other == plan.known.end()) return std::nullopt;
  return about(plan.receiver,
               "sheets " + first->sheet + " and " + other->sheet +
                   " cut a stream into frames in different ways",
               "a sheet for the receiver whose [frame] says what it hands on");
}

class Planner {
 public:
  explicit Planner(const fleet::Site& site) : site_{site}, known_{frames_of_nodes(site)} {}

  void add(const SpokenSource& source) {
    const auto& [receiver, url, sends_log] = source;
    auto endpoint = fleet::parse_endpoint(url);
    if (!endpoint) {
      Complaint complaint = endpoint.error();
      complaint.what = "source of receiver " + receiver + ": " + complaint.what;
      complaint.place = {};
      complaints_.push_back(std::move(complaint));
      return;
    }
    InletPlan plan;
    plan.receiver = receiver;
    plan.endpoint = std::move(*endpoint);
    if (!sends_log) {
      plan.known = known_;
      plan.receiver_frame = frame_of(receiver);
    }
    if (auto trouble = framing_trouble(plan)) complaints_.push_back(std::move(*trouble));
    plans_.push_back(std::move(plan));
  }

  Result<std::vector<InletPlan>, Trouble> finish() {
    if (!complaints_.empty()) return Failure{Trouble{Blame::input, std::move(complaints_)}};
    if (plans_.empty()) {
      return input_trouble({{},
                            "no receiver says where its hearings come in",
                            "`source = \"serial:///dev/ttyUSB0\"` in a [[receiver]] of site.toml, "
                            "or --source NAME=URL"});
    }
    return std::move(plans_);
  }

 private:
  const fleet::FrameFacts* frame_of(const std::string& receiver) const {
    const fleet::Receiver* listed = fleet::find_receiver(site_, receiver);
    const fleet::ReceiverSheet* sheet = listed ? fleet::sheet_of(site_, *listed) : nullptr;
    return sheet && sheet->frame ? &*sheet->frame : nullptr;
  }

  const fleet::Site& site_;
  std::vector<wire::KnownFrame> known_;
  std::vector<InletPlan> plans_;
  std::vector<Complaint> complaints_;
};

}  // namespace

Result<std::vector<InletPlan>, Trouble> plan_inlets(const fleet::Site& site,
                                                    const std::vector<SpokenSource>& spoken) {
  Planner planner{site};
  for (const SpokenSource& source : spoken) planner.add(source);
  for (const fleet::Receiver& receiver : site.receivers) {
    if (spoken.empty() && !receiver.source.empty()) {
      planner.add({receiver.name, receiver.source, receiver.sends_log});
    }
  }
  return planner.finish();
}

}  // namespace fieldfare::app
