// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <initializer_list>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/address.h"
#include "fieldfare/base/result.h"
#include "fieldfare/calc/calculator.h"

// How calculators are written: each a description and a function, near its kin.
namespace fieldfare::calc {

/// Checked inputs. Asking for a key that the calculator doesn't declare, or as
/// another kind, is a bug (asserted).
class Inputs {
 public:
  explicit Inputs(const Fields& fields) : fields_{&fields} {}

  bool given(std::string_view key) const;
  double number(std::string_view key) const;
  std::uint64_t whole(std::string_view key) const;
  std::span<const double> series(std::string_view key) const;
  const std::string& text(std::string_view key) const;
  std::vector<std::uint8_t> octets(std::string_view key) const;
  std::vector<Address> addresses(std::string_view key) const;

 private:
  const Value& value(std::string_view key) const;

  const Fields* fields_;
};

struct Worked {
  Fields result;
  std::vector<std::string> notes{};
};
/// The error says, in a sentence, what is wrong with the inputs together.
using Outcome = Result<Worked, std::string>;

struct Definition {
  Calculator about;
  std::function<Outcome(const Inputs&)> work;
};

std::vector<Definition> proportion_calculators();
std::vector<Definition> series_calculators();
std::vector<Definition> reading_calculators();
std::vector<Definition> sensor_calculators();
std::vector<Definition> encoding_calculators();
std::vector<Definition> address_and_clock_calculators();

Key number(std::string_view name, const Bounds& bounds, std::string_view meaning);
Key whole(std::string_view name, const Bounds& bounds, std::string_view meaning);
Key series(std::string_view name, std::size_t least_count, std::string_view meaning);
Key choice(std::string_view name, std::vector<std::string_view> choices, std::string_view meaning);
Key octets(std::string_view name, std::string_view meaning);
Key with_default(Key key, std::string_view fallback);

inline Bounds from_to(double low, double high) { return {low, high}; }
inline Bounds above_to(double low, double high) { return {low, high, false, true}; }
inline Bounds between(double low, double high) { return {low, high, false, false}; }
inline Bounds at_least(double low) { return {.low = low}; }

std::string hex_text(std::span<const std::uint8_t> octets);

}  // namespace fieldfare::calc
