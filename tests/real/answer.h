// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "fieldfare/app/judge_logs.h"

namespace fieldfare::real {

/// The answer of `fieldfare judge --json` without a site. `request` holds what
/// is asked beside the logs. Throws std::runtime_error with the first complaint
/// where there is no answer.
nlohmann::json judge(const std::vector<std::filesystem::path>& logs,
                     app::JudgeRequest request = {});

/// The same for one log of the data sets, judged once in a run of the tests.
const nlohmann::json& answer_for(const std::string& set, const std::string& file);

/// A node of an answer by its address, whatever the case. Throws
/// std::runtime_error where the answer has no such node.
const nlohmann::json& node_of(const nlohmann::json& answer, const std::string& address);

/// An answer without its run facts: what depends on the hearings alone.
nlohmann::json evidence_of(nlohmann::json answer);

/// Evidence without what counts rows and so doubles when a log is given twice:
/// hearings, duplicates, strays and rows with values that cannot be.
nlohmann::json without_row_counts(nlohmann::json evidence);

/// Hearings of reports that another receiver heard before. The answer has no
/// such count, but hearings = reports + duplicates + further + strays.
std::int64_t further_hearings(const nlohmann::json& node);

}  // namespace fieldfare::real
