// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string_view>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/internal/row_builder.h"
#include "fieldfare/wire/internal/row_log.h"

namespace fieldfare::wire {

/// Works out what a column or key of this name holds. What a person may not
/// have meant is noted: names near a recognised one, columns left out.
Column make_column(std::string_view name, fleet::Labels& labels, RowLog& log);

}  // namespace fieldfare::wire
