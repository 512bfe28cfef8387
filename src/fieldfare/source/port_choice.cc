// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/port_choice.h"

#include <algorithm>

namespace fieldfare::source {
namespace {

bool is_usb(const Port& port) { return port.usb_id.has_value(); }

/// The more of it holds, the likelier.
int likelihood(const Port& port) {
  return (is_usb(port) ? 4 : 0) + (port.busy_by.empty() ? 2 : 0) + (port.may_open ? 1 : 0);
}

std::string obstacle(const Port& port) {
  if (!port.busy_by.empty()) return "; it is in use by " + port.busy_by;
  if (!port.may_open) return "; this account may not open it yet";
  return {};
}

}  // namespace

std::optional<LikelyPort> likeliest_port(std::span<const Port> ports) {
  if (ports.empty()) return std::nullopt;
  const auto best = std::max_element(ports.begin(), ports.end(), [](const Port& a, const Port& b) {
    return likelihood(a) < likelihood(b);
  });
  const auto of_usb = std::count_if(ports.begin(), ports.end(), is_usb);
  const auto equals = std::count_if(ports.begin(), ports.end(), [&](const Port& port) {
    return likelihood(port) == likelihood(*best);
  });
  std::string why;
  if (of_usb == 0) {
    why = "no USB device has a port; this one is built in";
  } else if (of_usb == 1) {
    why = "the only port of a USB device";
  } else if (equals == 1) {
    why = "the only port of a USB device that is free";
  } else {
    why = "the first of " + std::to_string(equals) +
          " ports of USB devices: unplug the receiver and ask again, and the one that is gone was "
          "its port";
  }
  return LikelyPort{static_cast<std::size_t>(best - ports.begin()), why + obstacle(*best)};
}

}  // namespace fieldfare::source
