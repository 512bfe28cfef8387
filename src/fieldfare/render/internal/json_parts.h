// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/judge/verdict.h"
#include "fieldfare/render/internal/json_writer.h"
#include "fieldfare/wire/ledger.h"

namespace fieldfare::render::internal {

/// The keys file, line and column, as far as known, of the object that is open.
void put_place(JsonWriter& json, const Place& place);

/// The array `skipped`, at most `most` rows; nothing where there are none.
void put_skipped(JsonWriter& json, const std::vector<wire::SkippedRow>& rows, std::size_t most);

/// An array of sentences; nothing where there are none.
void put_notes(JsonWriter& json, const std::vector<std::string>& notes);

/// The array `claims`: each claim with its verdict, why, and what it still needs.
void put_claims(JsonWriter& json, const std::vector<judge::Verdict>& verdicts);

}  // namespace fieldfare::render::internal
