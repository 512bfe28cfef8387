// SPDX-License-Identifier: Apache-2.0
// The only file that sees the command line library, which takes seconds to compile.
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <sstream>
#include <string>
#include <utility>

#include "fieldfare/base/nearest.h"
#include "fieldfare/cli/command.h"
#include "fieldfare/cli/completion.h"
#include "fieldfare/cli/typed.h"

namespace fieldfare::cli {
namespace {

/// All verbs with their options, and where the values go.
class Arguments {
 public:
  Arguments() {
    app_.set_version_flag("--version", "fieldfare " FIELDFARE_VERSION, "print the version");
    app_.set_help_flag("--help", "print this help");
    app_.require_subcommand(1);
    app_.footer("Example:\n  fieldfare new tarn-dairy --demo");
    app_.get_formatter()->column_width(32);
    add_new();
    add_check();
    add_import();
    add_listen();
    add_learn();
    add_judge();
    add_calc();
    add_completion();
  }
  ~Arguments() = default;
  Arguments(const Arguments&) = delete;
  Arguments& operator=(const Arguments&) = delete;

  Result<Command, std::string> parse(int argc, const char* const* argv) {
    if (argc < 2) return Command{PrintCommand{app_.help()}};
    if (auto unknown = unknown_verb(argv[1])) return Failure{std::move(*unknown)};
    try {
      app_.parse(argc, argv);
    } catch (const CLI::Success& asked) {
      std::ostringstream text;
      app_.exit(asked, text, text);
      return Command{PrintCommand{text.str()}};
    } catch (const CLI::ExtrasError&) {
      return Failure{unexpected()};
    } catch (const CLI::ParseError& error) {
      return Failure{std::string{error.what()}};
    }
    return command();
  }

 private:
  CLI::App* verb(const std::string& name, const std::string& what, const std::string& example) {
    CLI::App* added = app_.add_subcommand(name, what);
    added->footer("Example:\n  " + example);
    return added;
  }

  void add_new() {
    new_app_ = verb("new", "begin a site folder", "fieldfare new tarn-dairy --demo");
    new_app_->add_option("SITE", new_.folder, "folder to make")->required();
    new_app_->add_option("--name", new_.name, "name of the site; the folder's name otherwise")
        ->type_name("NAME");
    new_app_->add_flag("--demo", new_.demo, "Tarn Dairy, which is invented, with a recorded log");
    new_app_->add_flag("--json", new_.json, "answer as one JSON document");
  }

  void add_check() {
    check_app_ = verb("check", "check the files of a site",
                      "fieldfare new my-site && fieldfare check my-site");
    check_app_->add_option("SITE", check_.folder, "folder of the site")->required();
    check_app_->add_flag("--json", check_.json, "answer as one JSON document");
  }

  void add_import() {
    import_app_ = verb("import", "store the hearings of logs in a site",
                       "fieldfare new dairy --demo && "
                       "fieldfare import dairy --log dairy/log/*.csv.gz");
    import_app_->add_option("SITE", import_.folder, "folder of the site")->required();
    import_app_
        ->add_option("--log", import_.logs,
                     "CSV, JSON Lines or capture, packed or not; - reads a pipe")
        ->type_name("FILE")
        ->required();
    import_app_->add_flag("--strict", import_.strict,
                          "take nothing of a log with a row that can't be read");
    import_app_->add_flag("--foreign", import_.foreign,
                          "of captures, keep frames of nodes outside the roster, too");
    import_app_->add_flag("--json", import_.json, "answer as one JSON document");
  }

  void add_listen() {
    listen_app_ = verb("listen",
                       "take in what receivers hear: for a SITE, or at a desk without one; alone, "
                       "show serial ports",
                       "fieldfare new dairy --demo && fieldfare listen dairy --for '1 s' "
                       "--source 'cellar=udp://127.0.0.1:5005'");
    listen_app_->add_option("SITE", listen_.folder,
                            "folder of the site, where hearings are stored");
    listen_app_
        ->add_option("--source", typed_.sources,
                     "a receiver and its source, in place of all that the site says")
        ->type_name("NAME=URL");
    listen_app_
        ->add_option("--content", typed_.content,
                     "of those sources: frames, or the rows of a log (frames where not said)")
        ->type_name("frames|log");
    listen_app_->add_option("--for", typed_.how_long, "how long; until interrupted otherwise")
        ->type_name("\"10 min\"");
    listen_app_->add_flag("--show", listen_.show, "print hearings as they are stored");
    add_desk(*listen_app_);
    listen_app_->add_flag("--json", listen_.json, "answer as one JSON document, at the end");
  }

  /// What there is without a site.
  void add_desk(CLI::App& app) {
    const char* group = "Without a SITE";
    app.add_option("--port", typed_.ports, "a serial port, such as /dev/ttyUSB0")
        ->type_name("DEVICE")
        ->group(group);
    app.add_option("--baud", typed_.baud, "its speed; 115200 otherwise")
        ->type_name("BAUD")
        ->group(group);
    app.add_option("--mqtt", typed_.brokers, "a broker, such as mqtt://broker, and a topic filter")
        ->type_name("URL TOPIC")
        ->type_size(2)
        ->group(group);
    app.add_option("--udp", typed_.sockets, "datagrams to a port of this machine")
        ->type_name("[ADDRESS:]PORT")
        ->group(group);
    app.add_option("--log", typed_.logs, "a log of hearings that grows; - reads a pipe")
        ->type_name("FILE")
        ->group(group);
    app.add_option("--sheet", listen_.sheets, "what the bytes mean; learnt from them otherwise")
        ->type_name("FILE")
        ->group(group);
    app.add_option("--keep", listen_.keep, "where all bytes go; goes on with what it holds")
        ->type_name("FILE")
        ->group(group);
    app.add_option("--width", typed_.width, "columns of text; the terminal's otherwise")
        ->type_name("COLUMNS")
        ->group(group);
    app.add_flag("--lines", listen_.lines, "tell what happens line by line, without a live list")
        ->group(group);
  }

  void add_learn() {
    learn_app_ = verb("learn", "a sheet from bytes that nobody has described",
                      "printf '{\"node\":\"02AA\",\"seq\":%d,\"temperature_c\":21.5}\\n' 1 2 3 4 | "
                      "fieldfare learn -");
    learn_app_
        ->add_option("FROM", learn_.from,
                     "a log of bytes, a file of JSON, text or bytes, a device, or a source's URL")
        ->required();
    learn_app_->add_option("--label", learn_.labels, "last digits of the nodes' labels")
        ->type_name("DIGITS")
        ->delimiter(',');
    learn_app_
        ->add_option("--provoked", typed_.provoked,
                     "when a report was caused by hand, and the digits of that node's label")
        ->type_name("TIME[=DIGITS]");
    learn_app_
        ->add_option("--value", typed_.values,
                     "what an instrument says, such as temperature_c=21.4, when, and beside which "
                     "node")
        ->type_name("NAME=NUMBER[@TIME][=DIGITS]");
    learn_app_->add_option("--name", learn_.name, "of the sheet; learnt-node otherwise")
        ->type_name("NAME");
    learn_app_->add_option("--out", learn_.out, "file to write the sheet to")->type_name("FILE");
    learn_app_->add_option("--for", typed_.how_long, "how long to listen; 1 min otherwise")
        ->type_name("\"10 min\"");
    learn_app_->add_option("--keep", learn_.keep, "where the bytes of a source go")
        ->type_name("FILE");
    learn_app_->add_flag("--json", learn_.json, "answer as one JSON document");
  }

  void add_judge() {
    judge_app_ = verb("judge", "evidence and verdicts from hearings",
                      "printf 'time,node,seq\\n2026-03-02T06:00:00Z,02aa,1\\n"
                      "2026-03-02T06:00:31Z,02aa,2\\n' | fieldfare judge --log -");
    judge_app_->add_option("SITE", judge_.folder,
                           "folder of a site: judges what it has stored, or the logs given");
    judge_app_
        ->add_option("--log", judge_.logs,
                     "CSV, JSON Lines or capture, packed or not; - reads a pipe")
        ->type_name("FILE");
    judge_app_->add_option("--from", typed_.from, "hearings from then on (RFC 3339)")
        ->type_name("TIME");
    judge_app_->add_option("--to", typed_.to, "hearings before then (RFC 3339)")->type_name("TIME");
    judge_app_
        ->add_option("--interval", typed_.interval,
                     "report interval of nodes of which no site says it")
        ->type_name("\"31 s\"");
    judge_app_
        ->add_option("--seq-bits", typed_.sequence_bits, "width of their counter, 1 to 32 bits")
        ->type_name("BITS");
    judge_app_->add_option("--confidence", typed_.confidence, "of every interval; 0.95 otherwise")
        ->type_name("SHARE");
    judge_app_->add_option("--node", judge_.node, "one node in full, by name or address")
        ->type_name("NODE");
    judge_app_->add_option("--width", typed_.width, "columns of text; the terminal's otherwise")
        ->type_name("COLUMNS");
    judge_app_->add_flag("--strict", judge_.strict, "fail where a row can't be read");
    judge_app_->add_flag("--foreign", judge_.foreign,
                         "of captures, keep frames of nodes outside the roster, too");
    judge_app_->add_flag("--json", judge_.json, "answer as one JSON document");
  }

  void add_calc() {
    calc_app_ = verb("calc", "single computations, with their sources; lists them without a name",
                     "fieldfare calc wilson k=58 n=60");
    calc_app_->add_option("NAME", calc_.name, "which one");
    calc_app_->add_option("key=value", calc_.arguments, "what it is worked from");
    calc_app_->add_flag("--json", calc_.json, "answer as one JSON document");
  }

  void add_completion() {
    completion_app_ = verb("completion", "print a script that completes commands in the shell",
                           "source <(fieldfare completion bash)");
    completion_app_->add_option("SHELL", typed_.shell, "bash")
        ->required()
        ->check(CLI::IsMember({"bash"}));
  }

  std::vector<Verb> verbs() const {
    std::vector<Verb> verbs;
    for (const CLI::App* app : app_.get_subcommands({})) {
      Verb verb{app->get_name(), {}};
      for (const CLI::Option* option : app->get_options()) {
        for (const std::string& name : option->get_lnames()) verb.options.push_back("--" + name);
      }
      verbs.push_back(std::move(verb));
    }
    return verbs;
  }

  static std::string meant(std::string_view typed, const std::vector<std::string>& known) {
    const std::vector<std::string_view> views{known.begin(), known.end()};
    const auto nearest = nearest_name(typed, views);
    return nearest ? fmt::format("did you mean {}?", *nearest) : "see fieldfare --help";
  }

  std::optional<std::string> unknown_verb(const std::string& typed) const {
    if (typed.empty() || typed.front() == '-') return std::nullopt;
    std::vector<std::string> known;
    for (const Verb& verb : verbs()) known.push_back(verb.name);
    if (std::find(known.begin(), known.end(), typed) != known.end()) return std::nullopt;
    return fmt::format("there is no verb '{}'; {}", typed, meant(typed, known));
  }

  std::string unexpected() const {
    const std::vector<std::string> left = app_.remaining(true);
    const std::string typed = left.empty() ? "" : left.front().substr(0, left.front().find('='));
    if (!typed.starts_with("-")) {
      return fmt::format("'{}' was not expected here; see --help", typed);
    }
    for (const Verb& verb : verbs()) {
      if (!app_.got_subcommand(verb.name)) continue;
      return fmt::format("{} has no option {}; {}", verb.name, typed, meant(typed, verb.options));
    }
    return fmt::format("there is no option {}; {}", typed, meant(typed, {"--help", "--version"}));
  }

  Result<Command, std::string> command() {
    if (new_app_->parsed()) return Command{new_};
    if (check_app_->parsed()) return Command{check_};
    if (import_app_->parsed()) return Command{import_};
    if (listen_app_->parsed()) return meant_by(listen_, typed_);
    if (learn_app_->parsed()) return meant_by(learn_, typed_);
    if (calc_app_->parsed()) return Command{calc_};
    if (completion_app_->parsed()) return Command{PrintCommand{bash_completion(verbs())}};
    return meant_by(judge_, typed_);
  }

  CLI::App app_{
      "Fieldfare puts battery-powered wireless sensors to work, and proves it by what is heard.",
      "fieldfare"};
  CLI::App* new_app_ = nullptr;
  CLI::App* check_app_ = nullptr;
  CLI::App* import_app_ = nullptr;
  CLI::App* listen_app_ = nullptr;
  CLI::App* learn_app_ = nullptr;
  CLI::App* judge_app_ = nullptr;
  CLI::App* calc_app_ = nullptr;
  CLI::App* completion_app_ = nullptr;
  NewCommand new_;
  CheckCommand check_;
  ImportCommand import_;
  ListenCommand listen_;
  LearnCommand learn_;
  JudgeCommand judge_;
  CalcCommand calc_;
  Typed typed_;
};

}  // namespace

Result<Command, std::string> parse_command(int argc, const char* const* argv) {
  return Arguments{}.parse(argc, argv);
}

}  // namespace fieldfare::cli
