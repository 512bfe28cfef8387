// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/import_logs.h"
#include "fieldfare/app/site_folder.h"
#include "fieldfare/cli/verbs.h"
#include "fieldfare/render/answers.h"

namespace fieldfare::cli {

Exit run(const ImportCommand& command) {
  const auto site = app::open_site(command.folder);
  if (!site) return print(site.error());
  const auto taken = [&] {
    ProgressLine progress;
    return app::import_logs(
        {command.folder, command.logs, command.strict, now(), progress.teller(), command.foreign},
        site->site);
  }();
  if (!taken) return print(taken.error());
  const render::ImportAnswer answer{taken->rows_read,    taken->rows_taken, taken->rows_known,
                                    taken->rows_skipped, taken->skipped,    taken->notes};
  return print(command.json ? render::import_json(answer) : render::import_text(answer), Exit::yes);
}

}  // namespace fieldfare::cli
