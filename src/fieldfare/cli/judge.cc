// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "fieldfare/app/judge_store.h"
#include "fieldfare/app/site_folder.h"
#include "fieldfare/base/nearest.h"
#include "fieldfare/cli/verbs.h"
#include "fieldfare/render/judge_json.h"
#include "fieldfare/render/judge_text.h"

namespace fieldfare::cli {
namespace {

using Loaded = std::optional<site::LoadedSite>;

Result<app::Judged, app::Trouble> judged(const JudgeCommand& command, const Loaded& loaded) {
  ProgressLine progress;
  app::JudgeRequest request;
  request.logs = command.logs;
  request.from = command.from;
  request.to = command.to;
  request.confidence = command.confidence;
  request.strict = command.strict;
  request.keep_foreign = command.foreign;
  request.spoken = {command.interval, command.sequence_bits};
  request.progress = progress.teller();
  if (command.logs.empty()) return app::judge_store(request, command.folder, loaded->site);
  return app::judge_logs(request, loaded ? &loaded->site : nullptr);
}

/// Leaves the asked for node alone in the answer; false where there is none.
bool narrow(app::Judged& judged, const std::string& wanted) {
  const auto address = parse_address(wanted);
  auto& nodes = judged.verdict.nodes;
  std::erase_if(nodes, [&](const judge::NodeVerdict& node) {
    const fleet::NodeLabel& label = judged.labels->label(node.evidence.node);
    return label.name != wanted && !(address && label.address == address);
  });
  return !nodes.empty();
}

std::string nothing_of(const app::Judged& judged, const std::string& wanted) {
  std::vector<std::string_view> names;
  for (std::uint32_t i = 0; i < judged.labels->node_count(); ++i) {
    names.push_back(judged.labels->label(fleet::NodeIndex{i}).name);
  }
  const auto nearest = nearest_name(wanted, names);
  return fmt::format("there is no node '{}' here; {}", wanted,
                     nearest ? fmt::format("did you mean '{}'?", *nearest)
                             : "expected a name of the roster or an address that was heard");
}

std::string answer_text(const app::Judged& judged, const JudgeCommand& command) {
  const render::TextStyle style = output_style(command.width);
  if (command.node.empty()) return render::judge_text(judged.view(), style);
  return render::node_text(judged.view(), judged.verdict.nodes.front(), style);
}

}  // namespace

Exit run(const JudgeCommand& command) {
  Loaded loaded;
  if (!command.folder.empty()) {
    auto opened = app::open_site(command.folder);
    if (!opened) return print(opened.error());
    loaded = std::move(*opened);
  }
  auto answer = judged(command, loaded);
  if (!answer) return print(answer.error());
  if (!command.node.empty() && !narrow(*answer, command.node)) {
    return print_usage(nothing_of(*answer, command.node));
  }
  const Exit exit = answer->answer_is_no() ? Exit::no : Exit::yes;
  if (command.json) return print(render::judge_json(answer->view()), exit);
  answer->question.time_zone = use_time_zone(loaded ? loaded->site.timezone : "UTC");
  return print(answer_text(*answer, command), exit);
}

}  // namespace fieldfare::cli
