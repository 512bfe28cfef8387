// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/desk.h"

#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <map>
#include <thread>
#include <tuple>
#include <utility>

#include "fieldfare/cli/live_terminal.h"
#include "fieldfare/render/desk_screen.h"
#include "fieldfare/work/hand.h"

namespace fieldfare::cli {
namespace {

using std::chrono::milliseconds;

/// A person before the live list.
class LiveHost : public app::DeskHost {
 public:
  LiveHost(LiveTerminal terminal, render::TextStyle style)
      : terminal_{std::move(terminal)}, style_{style} {}

  std::vector<work::Deed> turn(const work::DeskView& view, milliseconds patience) override {
    paint(view);
    std::vector<work::Deed> deeds;
    for (const work::KeyPress& press : terminal_.read(patience)) {
      if (press.key == work::Key::end_of_input) {
        deeds.emplace_back(work::DoLeave{});
        break;
      }
      if (auto deed = hand_.press(press, view)) deeds.push_back(std::move(*deed));
    }
    return deeds;
  }
  void answer(const std::string& what) override { hand_.tell(what); }
  void remind(const work::Reminder&) override { terminal_.bell(); }
  bool outlasts_sources() const override { return true; }

  /// Gives the terminal back.
  void close() { terminal_.close(); }

 private:
  void paint(const work::DeskView& view) {
    terminal_.paint(render::desk_screen(view, hand_.state(), terminal_.size(), style_));
  }

  LiveTerminal terminal_;
  render::TextStyle style_;
  work::Hand hand_;
};

/// Nobody to press keys: what happens is told in lines.
class LineHost : public app::DeskHost {
 public:
  LineHost(render::TextStyle style, bool silent) : style_{style}, silent_{silent} {}

  std::vector<work::Deed> turn(const work::DeskView& view, milliseconds patience) override {
    tell_sources(view);
    for (const work::DeskRow& row : view.rows) tell_row(row, view.now);
    std::this_thread::sleep_for(patience);
    return {};
  }
  void answer(const std::string& what) override { note(what); }
  void remind(const work::Reminder& reminder) override {
    note("reminder: " + reminder.node + ' ' + reminder.what);
  }
  bool outlasts_sources() const override { return false; }

 private:
  void tell_sources(const work::DeskView& view) {
    for (const work::DeskSource& source : view.sources) {
      std::string words = source.where + ": " + source.state;
      if (!source.remedy.empty()) words += "; " + source.remedy;
      if (std::exchange(sources_[source.name], words) != words) note(words);
    }
    if (std::exchange(frames_, view.frames.what) != view.frames.what) {
      note("frames: " + view.frames.what);
    }
  }
  void tell_row(const work::DeskRow& row, Instant now) {
    const std::pair news{row.newest, row.verdict.headline};
    if (std::exchange(rows_[row.key], news) == news || silent_) return;
    const std::string line = render::desk_line(row, now, style_);
    std::fwrite(line.data(), 1, line.size(), stdout);
    std::fflush(stdout);
  }
  void note(const std::string& what) const {
    const std::string line = render::safe_text(what, style_.unicode) + '\n';
    std::fwrite(line.data(), 1, line.size(), stderr);
  }

  render::TextStyle style_;
  bool silent_;
  std::map<std::string, std::string> sources_;
  std::map<std::string, std::pair<std::optional<Instant>, std::string>> rows_;
  std::string frames_;
};

app::DeskRequest request_of(const ListenCommand& command, const source::Clock& clock) {
  app::DeskRequest request;
  for (const auto& [receiver, url] : command.sources) {
    request.sources.push_back({receiver, url, command.sends_log});
  }
  request.sheets = command.sheets;
  request.keep_file = command.keep.empty() ? app::keep_file_name(clock()) : command.keep;
  request.timezone = zone_of_machine();
  request.how_long = command.how_long;
  request.clock = clock;
  return request;
}

Exit finish(const Result<app::DeskOutcome, app::Trouble>& outcome, const ListenCommand& command,
            const render::TextStyle& style) {
  if (!outcome) return print(outcome.error());
  return print(
      command.json ? render::desk_json(outcome->view) : render::desk_text(outcome->view, style),
      Exit::yes);
}

}  // namespace

std::string zone_of_machine() {
  namespace fs = std::filesystem;
  if (const char* zone = std::getenv("TZ"); zone && *zone != 0 && *zone != ':') return zone;
  std::error_code fault;
  const std::string path = fs::canonical("/etc/localtime", fault).string();
  constexpr std::string_view kFolder = "/zoneinfo/";
  const std::size_t at = path.find(kFolder);
  if (fault || at == std::string::npos) return "UTC";
  return path.substr(at + kFolder.size());
}

Exit run_at_desk(const ListenCommand& command, const source::Clock& clock) {
  const app::DeskRequest request = request_of(command, clock);
  use_time_zone(request.timezone);
  const render::TextStyle style = output_style(command.width);
  if (!command.json && !command.lines) {
    if (auto terminal = LiveTerminal::open(STDIN_FILENO, STDOUT_FILENO)) {
      LiveHost host{std::move(*terminal), style};
      const auto outcome = app::run_desk(request, host);
      host.close();
      return finish(outcome, command, style);
    }
  }
  LineHost host{style, command.json};
  return finish(app::run_desk(request, host), command, style);
}

}  // namespace fieldfare::cli
