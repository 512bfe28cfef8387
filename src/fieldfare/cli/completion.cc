// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/completion.h"

#include <fmt/core.h>

#include "fieldfare/calc/calculator.h"

namespace fieldfare::cli {
namespace {

constexpr const char* kBegin =
    R"(# Completion of fieldfare for bash: source <(fieldfare completion bash)
_fieldfare() {
  local word=${COMP_WORDS[COMP_CWORD]} verb=${COMP_WORDS[1]} words=""
)";

constexpr const char* kEnd = R"(  esac
  if ((COMP_CWORD == 1)); then
    words=$verbs
  elif [[ $verb == calc && $COMP_CWORD == 2 && $word != -* ]]; then
    words=$calculators
  elif [[ $word != -* ]]; then
    return
  fi
  mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
}
complete -o bashdefault -o default -F _fieldfare fieldfare
)";

}  // namespace

std::string bash_completion(const std::vector<Verb>& verbs) {
  std::string names;
  std::string cases;
  for (const Verb& verb : verbs) {
    names += verb.name + " ";
    std::string options;
    for (const std::string& option : verb.options) {
      options += (options.empty() ? "" : " ") + option;
    }
    cases += fmt::format("    {}) words=\"{}\" ;;\n", verb.name, options);
  }
  std::string calculators;
  for (const calc::Calculator& calculator : calc::list()) {
    calculators += fmt::format("{}{}", calculators.empty() ? "" : " ", calculator.name);
  }
  return fmt::format(
      "{}  local verbs=\"{}--help --version\"\n  local calculators=\"{}\"\n  case $verb in\n{}{}",
      kBegin, names, calculators, cases, kEnd);
}

}  // namespace fieldfare::cli
