// SPDX-License-Identifier: Apache-2.0
// The only file that sees the command line library, which takes seconds to compile.
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <sstream>
#include <string>
#include <utility>

#include "fieldfare/base/nearest.h"
#include "fieldfare/base/number_text.h"
#include "fieldfare/cli/command.h"
#include "fieldfare/cli/completion.h"

namespace fieldfare::cli {
namespace {

/// The value of an option as somebody typed it, before it means anything.
struct Typed {
  std::string from, to, interval, sequence_bits, confidence, width, how_long, content, shell;
  std::vector<std::string> sources;
};

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
    listen_app_ = verb("listen", "take in what receivers hear; without a SITE, show serial ports",
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
    listen_app_->add_flag("--json", listen_.json, "answer as one JSON document, at the end");
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
    if (listen_app_->parsed()) return listen_command();
    if (calc_app_->parsed()) return Command{calc_};
    if (completion_app_->parsed()) return Command{PrintCommand{bash_completion(verbs())}};
    return judge_command();
  }

  Result<Command, std::string> listen_command() {
    std::string wrong;
    read("--for", typed_.how_long, positive_duration, "a duration such as \"10 min\"",
         listen_.how_long, wrong);
    for (const std::string& source : typed_.sources) {
      const std::size_t equals = source.find('=');
      if (equals == 0 || equals == std::string::npos) {
        wrong = fmt::format(
            "--source '{}' can't be read; expected a receiver's name and a URL, such as "
            "office=serial:///dev/ttyUSB0",
            source);
        break;
      }
      listen_.sources.emplace_back(source.substr(0, equals), source.substr(equals + 1));
    }
    listen_.sends_log = typed_.content == "log";
    if (wrong.empty() && !typed_.content.empty() && !listen_.sends_log &&
        typed_.content != "frames") {
      wrong = fmt::format("--content '{}' can't be read; expected frames or log", typed_.content);
    }
    if (wrong.empty() && listen_.show && listen_.json) {
      wrong = "--show and --json both want standard output; expected one of them";
    }
    if (wrong.empty() && listen_.folder.empty() &&
        (listen_.show || listen_.how_long || !listen_.sources.empty())) {
      wrong = "listen needs a SITE to store what it hears; begin one with: fieldfare new FOLDER";
    }
    if (!wrong.empty()) return Failure{std::move(wrong)};
    return Command{listen_};
  }

  Result<Command, std::string> judge_command() {
    if (judge_.folder.empty() && judge_.logs.empty()) {
      return Failure{
          std::string{"judge has nothing to judge; give a SITE, or --log FILE, or both"}};
    }
    std::string wrong;
    read("--from", typed_.from, parse_rfc3339, "a moment such as 2026-03-02T07:15:00Z", judge_.from,
         wrong);
    read("--to", typed_.to, parse_rfc3339, "a moment such as 2026-03-02T07:15:00Z", judge_.to,
         wrong);
    read("--interval", typed_.interval, positive_duration, "a duration such as \"31 s\"",
         judge_.interval, wrong);
    read("--seq-bits", typed_.sequence_bits, counter_bits, "a whole number from 1 to 32",
         judge_.sequence_bits, wrong);
    std::optional<double> confidence;
    read("--confidence", typed_.confidence, open_share, "a share between 0 and 1 such as 0.95",
         confidence, wrong);
    judge_.confidence = confidence.value_or(judge_.confidence);
    read("--width", typed_.width, columns_wanted, "a whole number from 20 to 1000", judge_.width,
         wrong);
    if (judge_.from && judge_.to && *judge_.to <= *judge_.from) {
      wrong = "--to is not after --from; expected an earlier --from or a later --to";
    }
    if (!wrong.empty()) return Failure{std::move(wrong)};
    return Command{judge_};
  }

  template <class Value, class Parse>
  static void read(std::string_view option, const std::string& typed, const Parse& parse,
                   std::string_view expected, std::optional<Value>& value, std::string& wrong) {
    if (typed.empty() || !wrong.empty()) return;
    value = parse(typed);
    if (!value) wrong = fmt::format("{} '{}' can't be read; expected {}", option, typed, expected);
  }

  static std::optional<Duration> positive_duration(std::string_view text) {
    const auto duration = parse_duration(text);
    return duration && duration->ns > 0 ? duration : std::nullopt;
  }
  static std::optional<double> whole(std::string_view text, double low, double high) {
    const auto number = parse_number(text);
    const bool fits = number && *number >= low && *number <= high &&
                      *number == static_cast<double>(static_cast<int>(*number));
    return fits ? number : std::nullopt;
  }
  static std::optional<std::uint8_t> counter_bits(std::string_view text) {
    const auto bits = whole(text, 1, 32);
    return bits ? std::optional{static_cast<std::uint8_t>(*bits)} : std::nullopt;
  }
  static std::optional<std::size_t> columns_wanted(std::string_view text) {
    const auto width = whole(text, 20, 1000);
    return width ? std::optional{static_cast<std::size_t>(*width)} : std::nullopt;
  }
  static std::optional<double> open_share(std::string_view text) {
    const auto share = parse_number(text);
    return share && *share > 0 && *share < 1 ? share : std::nullopt;
  }

  CLI::App app_{
      "Fieldfare puts battery-powered wireless sensors to work, and proves it by what is heard.",
      "fieldfare"};
  CLI::App* new_app_ = nullptr;
  CLI::App* check_app_ = nullptr;
  CLI::App* import_app_ = nullptr;
  CLI::App* listen_app_ = nullptr;
  CLI::App* judge_app_ = nullptr;
  CLI::App* calc_app_ = nullptr;
  CLI::App* completion_app_ = nullptr;
  NewCommand new_;
  CheckCommand check_;
  ImportCommand import_;
  ListenCommand listen_;
  JudgeCommand judge_;
  CalcCommand calc_;
  Typed typed_;
};

}  // namespace

Result<Command, std::string> parse_command(int argc, const char* const* argv) {
  return Arguments{}.parse(argc, argv);
}

}  // namespace fieldfare::cli
