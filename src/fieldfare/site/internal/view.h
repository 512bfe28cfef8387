// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fieldfare/base/address.h"
#include "fieldfare/fleet/site.h"
#include "fieldfare/site/internal/grammar.h"
#include "fieldfare/site/internal/tree.h"

namespace fieldfare::site {

/// A table seen through its section: hands out values as what their key says
/// they are. A value that is absent or not sound is absent here; check.h is who
/// complains. Asking for a key that the section does not have is a bug.
///
/// Refers to the table and the section; both must outlive it.
class View {
 public:
  View(const Table& table, const Section& section, Spot spot)
      : table_{&table}, section_{&section}, spot_{spot} {}

  std::optional<std::string> text(std::string_view key) const;
  std::string text_or_empty(std::string_view key) const { return text(key).value_or(""); }
  std::optional<double> number(std::string_view key) const;
  double number_or(std::string_view key, double otherwise) const {
    return number(key).value_or(otherwise);
  }
  std::optional<std::int64_t> whole(std::string_view key) const;
  std::optional<int> small(std::string_view key) const;  ///< a whole number that fits an int
  std::optional<bool> flag(std::string_view key) const;
  /// The enumerator that a word stands for: the words of such a key are in its order.
  template <class Enum>
  std::optional<Enum> choice(std::string_view key) const {
    const auto place = place_among_words(key);
    return place ? std::optional{static_cast<Enum>(*place)} : std::nullopt;
  }
  std::optional<fleet::Range> range(std::string_view key) const;
  std::optional<fleet::Position> position(std::string_view key) const;
  std::optional<Duration> duration(std::string_view key) const;
  std::optional<std::chrono::year_month_day> date(std::string_view key) const;
  std::optional<Address> address(std::string_view key) const;
  std::optional<char> character(std::string_view key) const;
  std::optional<fleet::Octets> octets(std::string_view key) const;
  std::optional<fleet::BinaryForm> value_type(std::string_view key) const;
  std::optional<fleet::BitSpan> bits(std::string_view key) const;
  std::optional<Instant> moment(std::string_view key) const;
  std::optional<std::uint16_t> pan_id(std::string_view key) const;
  std::vector<std::pair<std::int64_t, std::string>> words(std::string_view key) const;
  std::vector<double> numbers(std::string_view key) const;
  std::vector<std::string> texts(std::string_view key) const;
  std::vector<std::pair<double, double>> number_map(std::string_view key) const;

  /// Nothing too where another form of value stands at a key that takes several.
  std::optional<View> table(std::string_view key) const;
  std::vector<View> tables(std::string_view key) const;
  std::vector<std::pair<std::string, View>> named_tables(std::string_view key) const;

  /// True where check.h has nothing to complain of in the table and those within.
  bool is_sound() const;

  /// True where the key is there, sound or not.
  bool has(std::string_view key) const { return entry_of(key_called(key)) != nullptr; }

  /// Where the value of `key` stands, or the table where it has none.
  Spot spot_of(std::string_view key) const;
  Spot spot() const { return spot_; }

 private:
  const Key& key_called(std::string_view name) const;
  const Entry* entry_of(const Key& key) const;
  std::optional<std::size_t> place_among_words(std::string_view key) const;
  const Entry* sound_entry(std::string_view name) const;

  const Table* table_;
  const Section* section_;
  Spot spot_;
};

}  // namespace fieldfare::site
