// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/base/result.h"

namespace fieldfare::cli {

struct NewCommand {
  std::string folder;
  std::string name;
  bool demo = false;
  bool json = false;
};

struct CheckCommand {
  std::string folder;
  bool json = false;
};

struct ImportCommand {
  std::string folder;
  std::vector<std::string> logs;
  bool strict = false;
  bool foreign = false;  ///< keep them, of captures
  bool json = false;
};

struct ListenCommand {
  std::string folder;                                        ///< empty: show the ports there are
  std::vector<std::pair<std::string, std::string>> sources;  ///< receiver and URL
  std::optional<Duration> how_long;
  bool sends_log = false;  ///< the sources do, whatever the sheets say
  bool show = false;
  bool json = false;
  // without a site
  std::vector<std::string> sheets;  ///< files
  std::string keep;                 ///< file for the bytes; empty: a name is made
  std::optional<std::size_t> width;
  bool lines = false;  ///< no live list, even on a terminal
};

struct LearnCommand {
  std::string from;
  std::vector<std::string> labels;
  /// When, and the label's digits, as somebody typed them.
  std::vector<std::pair<Instant, std::string>> provoked;
  struct Value {
    std::string field;
    double value = 0;
    double tolerance = 0;
    std::optional<Instant> at;
    std::string digits;
  };
  std::vector<Value> values;
  std::string name = "learnt-node";
  std::string out;  ///< file for the sheet; empty: it is not written
  std::optional<Duration> how_long;
  std::string keep;
  bool json = false;
};

struct JudgeCommand {
  std::string folder;             ///< empty: without a site
  std::vector<std::string> logs;  ///< empty: what is stored
  std::optional<Instant> from;
  std::optional<Instant> to;
  std::optional<Duration> interval;
  std::optional<std::uint8_t> sequence_bits;
  double confidence = 0.95;
  std::string node;  ///< empty: all
  std::optional<std::size_t> width;
  bool strict = false;
  bool foreign = false;  ///< keep them, of captures
  bool json = false;
};

struct CalcCommand {
  std::string name;  ///< empty: list them
  std::vector<std::string> arguments;
  bool json = false;
};

/// Help, version or completion: text that is only to be printed.
struct PrintCommand {
  std::string text;
};

using Command = std::variant<NewCommand, CheckCommand, ImportCommand, ListenCommand, LearnCommand,
                             JudgeCommand, CalcCommand, PrintCommand>;

/// What the arguments ask for, or what is wrong with them as one sentence.
Result<Command, std::string> parse_command(int argc, const char* const* argv);

}  // namespace fieldfare::cli
