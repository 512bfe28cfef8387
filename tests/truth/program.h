// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <span>
#include <string_view>
#include <vector>

#include "adapter.h"
#include "generator.h"

namespace fieldfare::truth {

/// Lets `program` judge the logs as nodes of one CSV file, which is written to
/// `folder`: `PROGRAM judge --log FILE --interval "31 s" --seq-bits 16 --json`.
/// Throws std::runtime_error with what went wrong where there is no answer.
std::vector<Judged> judge_by_program(const std::filesystem::path& program,
                                     const std::filesystem::path& folder,
                                     const std::vector<Log>& logs, const Facts& facts);

/// Reads the answer for nodes 0 .. count - 1 by their addresses. What is absent
/// from it stays at 0 or absent. Throws std::runtime_error or a parse error.
std::vector<Judged> read_answer(std::string_view text, std::size_t count);

}  // namespace fieldfare::truth
