// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <utility>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/result.h"

namespace fieldfare::app {

enum class Blame : std::uint8_t {
  input,    ///< what was given can't be used
  machine,  ///< the disk, the file system, the store failed
};

/// Why a use case came to nothing.
struct Trouble {
  Blame blame = Blame::input;
  std::vector<Complaint> complaints;  ///< at least one
};

inline Failure<Trouble> input_trouble(Complaint complaint) {
  return Failure{Trouble{Blame::input, {std::move(complaint)}}};
}
inline Failure<Trouble> machine_trouble(Complaint complaint) {
  return Failure{Trouble{Blame::machine, {std::move(complaint)}}};
}

/// What a use case gives that has nothing to give but that it is done.
struct Done {};

}  // namespace fieldfare::app
