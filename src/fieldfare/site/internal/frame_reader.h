// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/fleet/sheet.h"
#include "fieldfare/site/internal/check.h"
#include "fieldfare/site/internal/view.h"

namespace fieldfare::site {

/// The `[frame]` of a sheet. Nothing where it has faults: those that check.h can't see
/// are complained of here, once those that it can see are gone.
std::optional<fleet::FrameFacts> read_frame(const View& frame, Complaints& complaints);

/// Adds what `[[frame.field]]` says of readings to what `[field.NAME]` says of others.
void add_frame_field_facts(const View& frame, const fleet::FrameFacts& facts,
                           std::vector<fleet::FieldFacts>& fields, Complaints& complaints);

/// Complains where a receiver's frame says what belongs in the sheets of nodes.
void refuse_frame_field_facts(const View& frame, Complaints& complaints);

/// One `[[frame.field]]` of a frame with that body.
fleet::FieldLayout read_frame_field(const View& field, fleet::Body body, Complaints& complaints);

}  // namespace fieldfare::site
