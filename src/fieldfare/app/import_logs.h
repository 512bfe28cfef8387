// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "fieldfare/app/trouble.h"
#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/site.h"
#include "fieldfare/wire/ledger.h"

namespace fieldfare::app {

/// The store of a site folder.
std::string store_path(const std::string& folder);

struct ImportRequest {
  std::string folder;
  std::vector<std::string> logs;  ///< paths; `-` is standard input
  bool strict = false;            ///< a row that can't be read: nothing of its log is taken
  Instant now;                    ///< noted with the import
  std::function<void(std::uint64_t rows)> progress;  ///< empty where nobody watches
  bool keep_foreign = false;  ///< of captures, frames of nodes outside the roster as well
};

struct ImportOutcome {
  std::uint64_t rows_read = 0;     ///< of all logs, those taken before included
  std::uint64_t rows_taken = 0;    ///< stored now
  std::uint64_t rows_known = 0;    ///< taken or skipped by an earlier import of the same file
  std::uint64_t rows_skipped = 0;  ///< could not be read, now
  std::vector<wire::SkippedRow> skipped;   ///< the first of them
  wire::Ledger::Counts skipped_by_reason;  ///< of all rows read
  std::vector<std::string> notes;
};

/// Takes logs into the store of a site. What is reported as taken is committed.
///
/// A file that was imported before and has grown since is taken from where it
/// was left; one that hasn't, not at all. A file counts as the same where it
/// begins with the same bytes, whatever its name.
Result<ImportOutcome, Trouble> import_logs(const ImportRequest& request, const fleet::Site& site);

}  // namespace fieldfare::app
