// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/result.h"
#include "fieldfare/fleet/site.h"

namespace fieldfare::site {

/// A file by its name within a folder, with `/` between the parts.
struct NamedText {
  std::string name;
  std::string text;
};

/// The texts of a site folder that people write.
struct SiteFiles {
  std::string folder;  ///< what complaints put before file names; empty for nothing
  std::string site_toml;
  std::vector<NamedText> sheets;  ///< `sheets/air-probe.toml` and so on
};

/// A site, and what is allowed in it but was hardly meant.
struct LoadedSite {
  fleet::Site site;
  std::vector<Complaint> warnings;
};

/// Reads and checks a site. Sheets not among the files are taken from those
/// built in; a sheet of the site wins over one built in of the same name.
/// Pure: the same texts give the same site.
///
/// Errors are all that were found, by file, line and column: not TOML, keys
/// unknown or missing, values of the wrong kind or out of range, names or
/// addresses given twice, references to what does not exist, facts that
/// contradict each other. Past 100 they are only counted.
///
/// Bounded whatever the texts are: see docs/formats/site.md, "Limits".
Result<LoadedSite, std::vector<Complaint>> load_site(const SiteFiles& files);

}  // namespace fieldfare::site
