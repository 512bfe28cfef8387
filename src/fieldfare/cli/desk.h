// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/app/desk_session.h"
#include "fieldfare/cli/command.h"
#include "fieldfare/cli/terminal.h"

namespace fieldfare::cli {

/// `listen` without a site: the live list on a terminal, lines elsewhere.
Exit run_at_desk(const ListenCommand& command, const source::Clock& clock);

/// The IANA name of this machine's time zone; UTC where it doesn't say.
std::string zone_of_machine();

}  // namespace fieldfare::cli
