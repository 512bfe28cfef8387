// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/load.h"

#include <cassert>
#include <string>
#include <utility>

#include "fieldfare/site/internal/check.h"
#include "fieldfare/site/internal/embedded.h"
#include "fieldfare/site/internal/sheet_reader.h"
#include "fieldfare/site/internal/site_reader.h"

namespace fieldfare::site {

namespace {

/// Read once: they are constants of the program, and reading them costs more
/// than most sites.
const SheetShelf& built_in_sheets() {
  static const SheetShelf shelf = [] {
    SheetShelf sheets;
    Complaints complaints;
    for (const EmbeddedFile& sheet : embedded_sheets()) {
      sheets.read(sheet.text, std::string{sheet.name}, true, complaints);
    }
    sheets.check_cells(complaints);
    assert(!complaints.has_errors());
    return sheets;
  }();
  return shelf;
}

}  // namespace

Result<LoadedSite, std::vector<Complaint>> load_site(const SiteFiles& files) {
  const std::string prefix =
      files.folder.empty() || files.folder.ends_with('/') ? files.folder : files.folder + '/';
  Complaints complaints;
  SheetShelf shelf = built_in_sheets();
  for (const NamedText& sheet : files.sheets) {
    shelf.read(sheet.text, prefix + sheet.name, false, complaints);
  }
  shelf.check_cells(complaints);
  LoadedSite loaded;
  loaded.site = read_site(files.site_toml, prefix + "site.toml", std::move(shelf), complaints);
  if (complaints.has_errors()) return Failure{complaints.take_errors()};
  loaded.warnings = complaints.take_warnings();
  return loaded;
}

}  // namespace fieldfare::site
