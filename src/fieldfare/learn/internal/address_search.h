// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/framed.h"

namespace fieldfare::learn {

struct AddressGuess {
  std::size_t from = 0;
  std::size_t octets = 0;
  fleet::ByteOrder order = fleet::ByteOrder::big;
  double bits = 0;             ///< against chance; 0 where no label tells
  std::size_t labels = 0;      ///< different ones that were found
  std::size_t matched = 0;     ///< frames that hold one of them
  std::size_t digits = 0;      ///< octets of the address that the labels vouch for
  bool width_is_open = false;  ///< constant octets beside may belong to it or not
  bool in_decimal = false;     ///< labels are numbers as people write them
};

/// Where the digits of labels stand, in either order, and how far the address goes
/// on from there: over octets that are constant at each node. `taken` octets are not
/// looked at; of those that frames begin with, `start` many, all but the first may
/// turn out to be the address's. `damage` tells that frames may be damaged.
struct AddressQuestion {
  std::span<const fleet::Octets* const> frames;
  std::span<const Taken> taken;
  std::size_t length = 0;  ///< octets from the front that all frames have
  bool damage = false;
};
std::optional<AddressGuess> find_labels(const AddressQuestion& question,
                                        std::span<const std::string> labels);

/// Without labels: the octets that tell a few nodes apart so that some counter steps
/// best, at each of them.
std::optional<AddressGuess> find_nodes(const AddressQuestion& question);

/// The address of a frame as people write it. Precondition: the frame is that long.
std::string address_text(const AddressGuess& address, const fleet::Octets& octets);

}  // namespace fieldfare::learn
