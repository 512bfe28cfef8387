// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/app/desk_inlets.h"
#include "fieldfare/app/desk_ways.h"
#include "fieldfare/work/desk.h"

namespace fieldfare::app {

/// What a person is shown of a way in: its state, what to do about it, and what came.
/// `inlets`: null where what the bytes mean isn't known yet.
work::DeskSource desk_source(const DeskWay& way, const DeskRecord& record, const DeskInlets* inlets,
                             Instant now);

}  // namespace fieldfare::app
