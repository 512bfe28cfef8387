// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/cli/command.h"
#include "fieldfare/cli/terminal.h"

// One function a verb: asks the use case, prints its answer, gives the exit code.
namespace fieldfare::cli {

Exit run(const NewCommand& command);
Exit run(const CheckCommand& command);
Exit run(const ImportCommand& command);
Exit run(const ListenCommand& command);
Exit run(const LearnCommand& command);
Exit run(const JudgeCommand& command);
Exit run(const CalcCommand& command);
Exit run(const PrintCommand& command);

}  // namespace fieldfare::cli
