// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/wire/ledger.h"

namespace fieldfare::render {

/// What `check` found of a site.
struct CheckAnswer {
  bool valid = false;
  std::string site;  ///< name; empty where the site could not be read
  const std::vector<Complaint>& errors;
  const std::vector<Complaint>& warnings;
};
/// Schema `fieldfare/check/1`, docs/schema/check.schema.json.
std::string check_json(const CheckAnswer& answer);

/// What `import` took.
struct ImportAnswer {
  std::uint64_t rows_read = 0;
  std::uint64_t rows_taken = 0;
  std::uint64_t rows_known = 0;
  std::uint64_t rows_skipped = 0;
  const std::vector<wire::SkippedRow>& skipped;  ///< the first are shown
  const std::vector<std::string>& notes;
};
/// Schema `fieldfare/import/1`, docs/schema/import.schema.json.
std::string import_json(const ImportAnswer& answer);
std::string import_text(const ImportAnswer& answer);

/// The files of a new site. Schema `fieldfare/new/1`, docs/schema/new.schema.json.
std::string new_json(const std::string& folder, const std::vector<std::string>& files);

}  // namespace fieldfare::render
