// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "fieldfare/render/judge_view.h"

namespace fieldfare::render {

/// The answer of `judge --json`: one JSON document of schema `fieldfare/judge/1`
/// (docs/schema/judge.schema.json), nodes by label. What has no basis is absent.
///
/// Run facts are the keys rows_read, rows_skipped, rows_outside, skipped,
/// skipped_by_reason and notes; all else depends on the hearings alone.
std::string judge_json(const JudgeView& view);

}  // namespace fieldfare::render
