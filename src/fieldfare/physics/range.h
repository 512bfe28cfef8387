// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace fieldfare::physics {

/// Where a relation's source says that it holds, both ends included. Outside, a
/// relation still answers, and whoever shows the answer says so.
struct Range {
  double low;
  double high;

  constexpr bool holds(double value) const { return value >= low && value <= high; }
};

}  // namespace fieldfare::physics
