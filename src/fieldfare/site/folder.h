// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/result.h"
#include "fieldfare/site/load.h"

namespace fieldfare::site {

/// Reads what load_site() needs from a site folder: `site.toml` and, in order of
/// their names, `sheets/*.toml`.
///
/// Regular files only: a link is followed to one, while a device or a pipe is
/// refused unread. At most 1 MiB a file and 1000 sheets. Fails with the first
/// file that can't be had.
Result<SiteFiles, Complaint> read_site_folder(const std::string& folder);

}  // namespace fieldfare::site
