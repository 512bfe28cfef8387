// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "fieldfare/source/source.h"

namespace fieldfare::source {

/// Datagrams that come to an address of this machine, each one whole. `[::]` takes
/// those of IPv4 as well.
std::unique_ptr<Source> make_udp_source(const fleet::UdpEndpoint& endpoint, Setting setting,
                                        Loop& loop, Sink& sink);

}  // namespace fieldfare::source
