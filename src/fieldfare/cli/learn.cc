// SPDX-License-Identifier: Apache-2.0
#include <cstdio>

#include "fieldfare/app/desk_session.h"
#include "fieldfare/app/learn_sheet.h"
#include "fieldfare/app/site_folder.h"
#include "fieldfare/cli/verbs.h"
#include "fieldfare/render/learn_answer.h"

namespace fieldfare::cli {
namespace {

app::LearnRequest request_of(const LearnCommand& command) {
  app::LearnRequest request;
  request.from = command.from;
  request.hints.labels = command.labels;
  for (const auto& [at, digits] : command.provoked) request.hints.provoked.push_back({at, digits});
  for (const LearnCommand::Value& value : command.values) {
    request.hints.values.push_back(
        {value.field, value.value, value.tolerance, value.at, value.digits});
  }
  if (command.how_long) request.how_long = *command.how_long;
  request.keep_file = command.keep.empty() ? app::keep_file_name(now()) : command.keep;
  request.clock = now;
  return request;
}

void tell(const std::string& what) {
  const std::string line = render::safe_text(what, true) + '\n';
  std::fwrite(line.data(), 1, line.size(), stderr);
}

}  // namespace

Exit run(const LearnCommand& command) {
  const auto outcome = app::learn_sheet(request_of(command));
  if (!outcome) return print(outcome.error());
  for (const std::string& note : outcome->notes) tell(note);
  if (!outcome->kept_in.empty()) tell("all bytes are in " + outcome->kept_in);
  const learn::Learnt& learnt = outcome->learnt;
  const std::string sheet =
      learnt.frame ? render::learnt_sheet(learnt, command.name) : std::string{};
  if (!command.out.empty() && learnt.frame) {
    if (const auto written = app::write_file(command.out, sheet); !written) {
      return print(written.error());
    }
  }
  std::string text = command.json ? render::learn_json(learnt, sheet)
                                  : render::learn_text(learnt, output_style(std::nullopt));
  if (!command.json && command.out.empty() && learnt.frame) text += '\n' + sheet;
  return print(text, learnt.frame ? Exit::yes : Exit::no);
}

}  // namespace fieldfare::cli
