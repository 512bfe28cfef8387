// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/calc/internal/definition.h"

#include <algorithm>
#include <cassert>

namespace fieldfare::calc {

const Value& Inputs::value(std::string_view key) const {
  const auto found = std::find_if(fields_->begin(), fields_->end(),
                                  [key](const auto& field) { return field.first == key; });
  assert(found != fields_->end());
  return found->second;
}

bool Inputs::given(std::string_view key) const {
  return std::any_of(fields_->begin(), fields_->end(),
                     [key](const auto& field) { return field.first == key; });
}

double Inputs::number(std::string_view key) const { return std::get<double>(value(key)); }

std::uint64_t Inputs::whole(std::string_view key) const {
  return static_cast<std::uint64_t>(number(key));
}

std::span<const double> Inputs::series(std::string_view key) const {
  return std::get<std::vector<double>>(value(key));
}

const std::string& Inputs::text(std::string_view key) const {
  return std::get<std::string>(value(key));
}

std::vector<std::uint8_t> Inputs::octets(std::string_view key) const {
  const std::string& hex = text(key);
  std::vector<std::uint8_t> out;
  out.reserve(hex.size() / 2);
  for (std::size_t i = 0; i + 1 < hex.size(); i += 2) {
    const auto pair = parse_address(std::string_view{hex}.substr(i, 2));
    assert(pair);  // read_value() let only hex through
    out.push_back(static_cast<std::uint8_t>(pair->value));
  }
  return out;
}

std::vector<Address> Inputs::addresses(std::string_view key) const {
  std::vector<Address> out;
  std::string_view rest = text(key);
  while (!rest.empty()) {
    const std::size_t comma = std::min(rest.find(','), rest.size());
    const auto address = parse_address(rest.substr(0, comma));
    assert(address);  // read_value() let only addresses through
    out.push_back(*address);
    rest.remove_prefix(std::min(comma + 1, rest.size()));
  }
  return out;
}

Key number(std::string_view name, const Bounds& bounds, std::string_view meaning) {
  return {.name = name, .kind = KeyKind::number, .meaning = meaning, .bounds = bounds};
}

Key whole(std::string_view name, const Bounds& bounds, std::string_view meaning) {
  return {.name = name, .kind = KeyKind::whole, .meaning = meaning, .bounds = bounds};
}

Key series(std::string_view name, std::size_t least_count, std::string_view meaning) {
  // Squares of what a series holds, and sums of them, must stay finite.
  constexpr double kLargest = 1e100;
  return {.name = name,
          .kind = KeyKind::series,
          .meaning = meaning,
          .bounds = from_to(-kLargest, kLargest),
          .least_count = least_count};
}

Key choice(std::string_view name, std::vector<std::string_view> choices, std::string_view meaning) {
  return {.name = name, .kind = KeyKind::choice, .meaning = meaning, .choices = std::move(choices)};
}

Key octets(std::string_view name, std::string_view meaning) {
  return {.name = name, .kind = KeyKind::octets, .meaning = meaning};
}

Key with_default(Key key, std::string_view fallback) {
  key.fallback = fallback;
  return key;
}

std::string hex_text(std::span<const std::uint8_t> octets) {
  std::string out;
  out.reserve(2 * octets.size());
  for (const std::uint8_t octet : octets) out += Address{octet, 2}.text();
  return out;
}

}  // namespace fieldfare::calc
