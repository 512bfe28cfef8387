// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>

#include "fieldfare/learn/internal/slot_draft.h"
#include "fieldfare/learn/internal/slot_series.h"
#include "fieldfare/learn/learn.h"

namespace fieldfare::learn {

/// Takes what nobody took yet for readings: by what instruments said, by names and
/// units, and else as numbers whose unit isn't known. Text is told, and left out.
/// `node_labels`: of node numbers, the address or name as text.
void find_readings(Draft& draft, const NodeNumbers& nodes, std::span<const std::string> node_labels,
                   const Sample& sample);

}  // namespace fieldfare::learn
