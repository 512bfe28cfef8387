// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/verbs.h"

namespace fieldfare::cli {

Exit run(const PrintCommand& command) { return print(command.text, Exit::yes); }

}  // namespace fieldfare::cli
