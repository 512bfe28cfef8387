// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/calc/calculator.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "fieldfare/base/nearest.h"
#include "fieldfare/calc/internal/definition.h"
#include "fieldfare/calc/internal/read_value.h"

namespace fieldfare::calc {
namespace {

struct Catalogue {
  std::vector<Calculator> about;
  std::vector<std::function<Outcome(const Inputs&)>> work;  ///< in the same order
};

const Catalogue& catalogue() {
  static const Catalogue all = [] {
    Catalogue out;
    for (const auto& theme :
         {proportion_calculators, series_calculators, reading_calculators, sensor_calculators,
          encoding_calculators, address_and_clock_calculators}) {
      for (Definition& definition : theme()) {
        out.about.push_back(std::move(definition.about));
        out.work.push_back(std::move(definition.work));
      }
    }
    return out;
  }();
  return all;
}

std::string did_you_mean(std::string_view unknown, const std::vector<std::string_view>& known) {
  const auto nearest = nearest_name(unknown, known);
  return nearest ? "; did you mean `" + std::string{*nearest} + "`?" : std::string{};
}

std::string no_calculator(std::string_view name) {
  std::vector<std::string_view> known;
  known.reserve(list().size());
  for (const Calculator& calculator : list()) known.push_back(calculator.name);
  const std::string hint = did_you_mean(name, known);
  return "no calculator is called `" + std::string{name} + '`' +
         (hint.empty() ? "; `fieldfare calc` lists them all" : hint);
}

std::string no_key(const Calculator& calculator, std::string_view name) {
  std::vector<std::string_view> known;
  known.reserve(calculator.keys.size());
  for (const Key& key : calculator.keys) known.push_back(key.name);
  std::string out = std::string{calculator.name} + " has no key `" + std::string{name} + '`' +
                    did_you_mean(name, known) + " (keys:";
  for (const std::string_view key : known) out += ' ' + std::string{key};
  return out + ')';
}

struct Argument {
  std::string_view key;
  std::string_view text;
};

Result<std::vector<Argument>, std::string> split(const Calculator& calculator,
                                                 std::span<const std::string> arguments) {
  std::vector<Argument> out;
  for (const std::string_view argument : arguments) {
    const std::size_t equals = argument.find('=');
    if (equals == std::string_view::npos) {
      return Failure{'`' + std::string{argument} + "` is not of the form key=value"};
    }
    const std::string_view name = argument.substr(0, equals);
    const auto is_named = [name](const auto& other) { return other == name; };
    if (std::ranges::none_of(calculator.keys, is_named, &Key::name)) {
      return Failure{no_key(calculator, name)};
    }
    if (std::ranges::any_of(out, is_named, &Argument::key)) {
      return Failure{'`' + std::string{name} + "` is given twice"};
    }
    out.push_back({name, argument.substr(equals + 1)});
  }
  return out;
}

Result<Fields, std::string> read_inputs(const Calculator& calculator,
                                        std::span<const std::string> arguments) {
  const auto given = split(calculator, arguments);
  if (!given) return Failure{given.error()};
  Fields out;
  for (const Key& key : calculator.keys) {
    const auto argument = std::ranges::find(*given, key.name, &Argument::key);
    if (argument == given->end() && key.may_lack) continue;
    if (argument == given->end() && !key.fallback) {
      return Failure{std::string{calculator.name} + " needs `" + std::string{key.name} + "`, " +
                     std::string{key.meaning}};
    }
    auto value = read_value(key, argument == given->end() ? *key.fallback : argument->text);
    if (!value) return Failure{value.error()};
    out.emplace_back(key.name, std::move(*value));
  }
  return out;
}

bool is_finite(const Value& value) {
  if (const auto* number = std::get_if<double>(&value)) return std::isfinite(*number);
  const auto* series = std::get_if<std::vector<double>>(&value);
  return series == nullptr ||
         std::ranges::all_of(*series, [](double number) { return std::isfinite(number); });
}

}  // namespace

std::span<const Calculator> list() { return catalogue().about; }

const Calculator* find(std::string_view name) {
  const auto all = list();
  const auto found = std::ranges::find(all, name, &Calculator::name);
  return found == all.end() ? nullptr : &*found;
}

Result<Answer, std::string> calculate(std::string_view name,
                                      std::span<const std::string> arguments) {
  const Calculator* const calculator = find(name);
  if (calculator == nullptr) return Failure{no_calculator(name)};
  auto inputs = read_inputs(*calculator, arguments);
  if (!inputs) return Failure{inputs.error()};
  const auto index = static_cast<std::size_t>(calculator - list().data());
  auto worked = catalogue().work[index](Inputs{*inputs});
  if (!worked) return Failure{worked.error()};
  for (const auto& [key, value] : worked->result) {
    if (!is_finite(value)) return Failure{'`' + key + "` would be larger than numbers can be here"};
  }
  return Answer{std::string{name}, std::move(*inputs), std::move(worked->result),
                std::string{calculator->source}, std::move(worked->notes)};
}

}  // namespace fieldfare::calc
