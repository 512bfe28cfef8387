// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "fieldfare/calc/calculator.h"
#include "fieldfare/cli/verbs.h"

namespace fieldfare::cli {
namespace {

std::string list_text() {
  std::size_t width = 0;
  for (const calc::Calculator& calculator : calc::list()) {
    width = std::max(width, calculator.name.size());
  }
  std::string text;
  for (const calc::Calculator& calculator : calc::list()) {
    text += fmt::format("{:{}}  {}\n", calculator.name, width, calculator.summary);
  }
  return text;
}

std::string list_json() {
  using Json = nlohmann::ordered_json;
  Json all = Json::array();
  for (const calc::Calculator& calculator : calc::list()) {
    Json keys = Json::array();
    for (const calc::Key& key : calculator.keys) {
      Json shown{{"name", key.name}, {"meaning", key.meaning}};
      if (key.fallback) shown["default"] = *key.fallback;
      keys.push_back(std::move(shown));
    }
    all.push_back({{"name", calculator.name},
                   {"summary", calculator.summary},
                   {"keys", std::move(keys)},
                   {"source", calculator.source},
                   {"example", calculator.example}});
  }
  return Json{{"schema", "fieldfare/calc-list/1"}, {"calculators", std::move(all)}}.dump(2) + "\n";
}

}  // namespace

Exit run(const CalcCommand& command) {
  if (command.name.empty()) return print(command.json ? list_json() : list_text(), Exit::yes);
  const auto answer = calc::calculate(command.name, command.arguments);
  if (!answer) return print_usage(answer.error());
  std::string text = command.json ? calc::to_json(*answer) : calc::to_text(*answer);
  if (!text.ends_with('\n')) text += '\n';
  return print(text, Exit::yes);
}

}  // namespace fieldfare::cli
