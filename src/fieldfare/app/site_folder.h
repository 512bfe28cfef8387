// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/app/trouble.h"
#include "fieldfare/site/load.h"

namespace fieldfare::app {

/// The site in a folder. What is wrong with it is trouble with the input.
Result<site::LoadedSite, Trouble> open_site(const std::string& folder);

/// What `check` found.
struct SiteCheck {
  bool valid = false;
  std::string name;  ///< empty where the site could not be read
  std::vector<Complaint> errors;
  std::vector<Complaint> warnings;
};

/// Reads and checks a site. Trouble only where its files can't be had.
Result<SiteCheck, Trouble> check_site(const std::string& folder);

/// How to begin a site.
struct NewSite {
  std::string folder;  ///< must not exist, or be empty
  std::string name;    ///< of the site; empty: the folder's name
  bool demo = false;   ///< Tarn Dairy, which is invented, with its log
};

/// Writes the files of a new site; gives their names, `/` between the parts.
/// Nothing that exists is overwritten.
Result<std::vector<std::string>, Trouble> new_site(const NewSite& request);

/// Writes files into a new folder, or an empty one; nothing that exists is overwritten.
Result<Done, Trouble> write_folder(const std::string& folder,
                                   const std::vector<site::NamedText>& files);

/// Writes one new file; nothing that exists is overwritten.
Result<Done, Trouble> write_file(const std::string& path, std::string_view text);

/// Puts `text` in the place of what a file holds, all or nothing. Refuses where it
/// doesn't hold `expected`: somebody has changed it.
Result<Done, Trouble> replace_file(const std::string& path, const std::string& expected,
                                   const std::string& text);

}  // namespace fieldfare::app
