// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/fleet/site.h"

#include <algorithm>

namespace fieldfare::fleet {

const NodeSheet* sheet_of(const Site& site, const Node& node) {
  return node.sheet ? &site.node_sheets[*node.sheet] : nullptr;
}

const Need* need_of(const Site& site, const Node& node) {
  return node.need ? &site.needs[*node.need] : nullptr;
}

const ReceiverSheet* sheet_of(const Site& site, const Receiver& receiver) {
  return receiver.sheet ? &site.receiver_sheets[*receiver.sheet] : nullptr;
}

const Receiver* find_receiver(const Site& site, std::string_view name) {
  const auto found = std::find_if(site.receivers.begin(), site.receivers.end(),
                                  [name](const Receiver& each) { return each.name == name; });
  return found == site.receivers.end() ? nullptr : &*found;
}

}  // namespace fieldfare::fleet
