// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/listen.h"

#include <cstdio>
#include <utility>

#include "fieldfare/app/site_folder.h"
#include "fieldfare/cli/desk.h"
#include "fieldfare/cli/verbs.h"
#include "fieldfare/render/listen_answer.h"
#include "fieldfare/source/port_choice.h"

namespace fieldfare::cli {
namespace {

/// One line on standard error, at once.
void tell(const std::string& receiver, const std::string& what) {
  std::string line = render::safe_text(receiver.empty() ? what : receiver + ": " + what, true);
  line += '\n';
  std::fwrite(line.data(), 1, line.size(), stderr);
}

std::string change_words(const source::Change& change) {
  std::string words = change.what;
  if (words.empty()) words = change.condition == source::Condition::up ? "listening" : "ended";
  if (!change.remedy.empty()) words += "; " + change.remedy;
  return words;
}

render::ListenAnswer answer_of(const app::ListenOutcome& outcome) {
  render::ListenAnswer answer;
  answer.from = outcome.from;
  answer.to = outcome.to;
  answer.stored = outcome.stored;
  answer.not_stored = outcome.not_stored;
  answer.median_ms = outcome.storing.median_ms;
  answer.p99_ms = outcome.storing.p99_ms;
  answer.longest_ms = outcome.storing.longest_ms;
  for (const app::InletOutcome& inlet : outcome.inlets) {
    answer.sources.push_back({inlet.run.source, inlet.run.endpoint, inlet.run.ledger,
                              inlet.run.repeated, inlet.total.ledger, inlet.total.repeated});
  }
  return answer;
}

Exit show_ports(bool json) {
  std::vector<render::PortAnswer> ports;
  const std::vector<source::Port> found = app::serial_ports();
  ports.reserve(found.size());
  for (const source::Port& port : found) {
    ports.push_back({port.device,
                     port.stable_name,
                     port.description,
                     port.manufacturer,
                     port.serial_number,
                     port.usb_id.value_or(""),
                     port.driver,
                     port.may_open,
                     port.busy_by,
                     {}});
  }
  if (const auto likely = source::likeliest_port(found))
    ports[likely->index].likeliest = likely->why;
  return print(
      json ? render::ports_json(ports) : render::ports_text(ports, output_style(std::nullopt)),
      Exit::yes);
}

}  // namespace

Exit run(const ListenCommand& command) {
  if (command.folder.empty() && command.sources.empty()) return show_ports(command.json);
  if (command.folder.empty()) return run_at_desk(command, now);
  const auto site = app::open_site(command.folder);
  if (!site) return print(site.error());
  use_time_zone(site->site.timezone);
  const render::TextStyle style = output_style(std::nullopt);

  app::ListenRequest request;
  request.folder = command.folder;
  for (const auto& [receiver, url] : command.sources)
    request.sources.push_back({receiver, url, command.sends_log});
  request.how_long = command.how_long;
  request.clock = now;
  request.events.changed = [](const std::string& receiver, const source::Change& change) {
    tell(receiver, change_words(change));
  };
  request.events.note = tell;
  if (command.show) {
    request.events.heard = [&](const fleet::Hearing& hearing, const fleet::Labels& labels) {
      const std::string line = render::hearing_line(hearing, labels, style);
      std::fwrite(line.data(), 1, line.size(), stdout);
      std::fflush(stdout);
    };
  }
  const auto outcome = app::listen(request, site->site);
  if (!outcome) return print(outcome.error());
  const render::ListenAnswer answer = answer_of(*outcome);
  return print(command.json ? render::listen_json(answer) : render::listen_text(answer, style),
               outcome->not_stored > 0 ? Exit::machine : Exit::yes);
}

}  // namespace fieldfare::cli
