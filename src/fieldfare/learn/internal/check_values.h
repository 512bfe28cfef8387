// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "fieldfare/base/crc.h"
#include "fieldfare/fleet/frame.h"

namespace fieldfare::learn {

/// A kind of check, wherever it stands and whatever it covers.
struct CheckMaker {
  fleet::CheckKind kind = fleet::CheckKind::crc;
  const CrcModel* model = nullptr;  ///< of CRCs
  int octets = 1;
  fleet::Complement complement = fleet::Complement::none;
  std::vector<std::uint64_t> table = {};  ///< of CRCs: what an octet does to the register
};

/// All kinds that a sheet can name, of 1, 2 and 4 octets.
std::vector<CheckMaker> all_check_makers();

/// `out[i]` becomes the check over the first i octets, for i from 0 to their number.
void running_checks(const CheckMaker& maker, std::span<const std::uint8_t> octets,
                    std::vector<std::uint32_t>& out);

}  // namespace fieldfare::learn
