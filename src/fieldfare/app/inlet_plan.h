// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "fieldfare/app/trouble.h"
#include "fieldfare/fleet/endpoint.h"
#include "fieldfare/fleet/site.h"
#include "fieldfare/wire/stream_decoder.h"

namespace fieldfare::app {

/// A source given by hand: `office=serial:///dev/ttyUSB0`.
struct SpokenSource {
  std::string receiver;
  std::string url;
  bool sends_log = false;  ///< rows of a log, whatever the site says of its receiver
};

/// One way in, and how its bytes are read.
struct InletPlan {
  std::string receiver;  ///< name; hearings that say no other are its
  fleet::Endpoint endpoint;
  const fleet::FrameFacts* receiver_frame = nullptr;
  std::vector<wire::KnownFrame> known;  ///< tag: index into Site::node_sheets

  bool reads_rows() const { return receiver_frame == nullptr && known.empty(); }
};

/// The ways into a site: those of its receivers, or, where any are spoken, these
/// alone. What the plans point to belongs to the site.
///
/// Complains where there is none, where a URL can't be read, and where the kinds
/// of node on one stream cut it differently, so that a sheet for the receiver has
/// to say which.
Result<std::vector<InletPlan>, Trouble> plan_inlets(const fleet::Site& site,
                                                    const std::vector<SpokenSource>& spoken);

}  // namespace fieldfare::app
