// SPDX-License-Identifier: Apache-2.0
// What fields are to us, what is made of them and what they refer to.

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "fieldfare/fleet/internal/frame_faults.h"

namespace fieldfare::fleet::internal {
namespace {

struct FieldCheck {
  Faults& faults;
  std::size_t index;

  const FieldLayout& field() const { return faults.frame().fields[index]; }
  void add(std::string key, std::string what, std::string expected) const {
    faults.about_field(index, std::move(key), std::move(what), std::move(expected));
  }
  /// A field before this one.
  const FieldLayout* earlier(const std::string& name) const {
    const auto& fields = faults.frame().fields;
    const auto end = fields.begin() + static_cast<std::ptrdiff_t>(index);
    const auto found =
        std::find_if(fields.begin(), end, [&](const FieldLayout& f) { return f.name == name; });
    return found == end ? nullptr : &*found;
  }
};

template <class Form>
bool is_written_as(const FieldLayout& field) {
  const auto* const place = std::get_if<AtOctet>(&field.place);
  return place != nullptr && std::holds_alternative<Form>(place->form);
}

bool comes_often(FieldRole role) { return role == FieldRole::reading || role == FieldRole::part; }

/// Roles whose value is a quantity that a sensor or polynomial can lie behind.
bool is_quantity(FieldRole role) {
  switch (role) {
    case FieldRole::reading:
    case FieldRole::rssi:
    case FieldRole::snr:
    case FieldRole::lqi:
    case FieldRole::noise:
    case FieldRole::supply:
    case FieldRole::part:
      return true;
    default:
      return false;
  }
}

bool is_number(FieldRole role) {
  return is_quantity(role) || role == FieldRole::sequence || role == FieldRole::time ||
         role == FieldRole::age;
}

void find_name_faults(const FieldCheck& check) {
  const std::string& name = check.field().name;
  if (name.empty() || name.size() > kLongestFieldName) {
    check.add("name", name.empty() ? "the field has no name" : "the name is too long",
              "1 to " + std::to_string(kLongestFieldName) + " characters");
  } else if (check.earlier(name) != nullptr) {
    check.add("name", "a field before has the same name `" + name + "`", "another name");
  }
}

/// Fields in a binary body whose role their type can't play.
void find_role_faults(const FieldCheck& check) {
  const FieldLayout& field = check.field();
  const FieldRole role = field.role;
  if (is_written_as<OctetsForm>(field) && is_number(role) && role != FieldRole::part) {
    check.add("type", "a run of bytes is no number", "a number type, or text");
  }
  if (role == FieldRole::payload && !is_written_as<OctetsForm>(field) &&
      std::holds_alternative<AtOctet>(field.place)) {
    check.add("type", "a frame within is a run of bytes", "a type of bytes");
  }
  if (role == FieldRole::name && is_written_as<NumberForm>(field)) {
    check.add("type", "a name is text", "a type of text; role `address` for numbers");
  }
  const auto* const place = std::get_if<AtOctet>(&field.place);
  const std::optional<int> octets = place == nullptr ? std::nullopt : octets_of(place->form);
  const bool is_network = role == FieldRole::network;
  const bool is_identifier = role == FieldRole::address || is_network;
  if (is_identifier && is_written_as<OctetsForm>(field) && (!octets || *octets > 8)) {
    check.add("type",
              is_network ? "no network's number has this width" : "no address has this width",
              "1 to 8 bytes");
  }
  const NumberForm* const number = number_form(field);
  if (is_identifier && number != nullptr &&
      (number->kind == NumberKind::real || number->kind == NumberKind::signed_integer)) {
    check.add("type", is_network ? "a network has no such number" : "an address is no such number",
              "bytes, or an unsigned integer");
  }
  if (role == FieldRole::sequence && number != nullptr && number->kind == NumberKind::real) {
    check.add("type", "a counter is a whole number", "an integer type");
  }
  if (field.epoch != Instant{} && role != FieldRole::time) {
    check.add("epoch", "only times count from an epoch", "role `time`, or no epoch");
  }
}

void find_conversion_faults(const FieldCheck& check) {
  const Conversion& conversion = check.field().conversion;
  const FieldRole role = check.field().role;
  if (!std::isfinite(conversion.scale) || conversion.scale == 0) {
    check.add("scale", "no factor", "a finite number other than 0");
  }
  if (!std::isfinite(conversion.offset)) {
    check.add("offset", "no number", "a finite number");
  }
  if (!is_number(role) && (conversion.scale != 1 || conversion.offset != 0)) {
    check.add("scale", "what isn't a number can't be scaled", "no scale and no offset");
  }
  if (!std::holds_alternative<std::monostate>(conversion.then) && !is_quantity(role)) {
    check.add("sensor", "no sensor lies behind this role", "role `reading`");
  }
  if (const auto* const ntc = std::get_if<ThermistorSensor>(&conversion.then)) {
    if (!std::isfinite(ntc->a) || !std::isfinite(ntc->b) || !std::isfinite(ntc->c) ||
        (ntc->b == 0 && ntc->c == 0)) {
      check.add("thermistor", "coefficients that give no temperature",
                "a, b and c of Steinhart and Hart, for ohm");
    }
  } else if (const auto* const loop = std::get_if<LoopSensor>(&conversion.then)) {
    if (!std::isfinite(loop->low) || !std::isfinite(loop->high) || loop->low == loop->high) {
      check.add("loop", "4 and 20 mA stand for the same value", "two different values");
    }
  } else if (const auto* const polynomial = std::get_if<Polynomial>(&conversion.then)) {
    const auto& c = polynomial->coefficients;
    if (c.empty() || c.size() > kMostCoefficients ||
        !std::all_of(c.begin(), c.end(), [](double x) { return std::isfinite(x); })) {
      check.add("polynomial", "no polynomial",
                "1 to " + std::to_string(kMostCoefficients) + " finite coefficients, from c0");
    }
  }
}

/// True where the number can be sent with this raw value.
bool can_hold(const NumberForm& number, std::int64_t value) {
  const int bits = width_bits(number);
  switch (number.kind) {
    case NumberKind::unsigned_integer:
      return value >= 0 && (bits > 62 || value >> bits == 0);
    case NumberKind::signed_integer:
      return bits > 63 ||
             (value >= -(std::int64_t{1} << (bits - 1)) && value < std::int64_t{1} << (bits - 1));
    case NumberKind::bcd: {
      std::int64_t most = 1;
      for (int digit = 0; digit < 2 * number.octets; ++digit) most *= 10;
      return value >= 0 && value < most;
    }
    case NumberKind::real:
      return true;
  }
  return false;
}

bool is_valid(const NumberForm& number) {
  return number.octets >= 1 && number.octets <= 8 &&
         (!number.bits || (number.bits->low >= 0 && number.bits->low <= number.bits->high &&
                           number.bits->high < 8 * number.octets));
}

void find_missing_faults(const FieldCheck& check) {
  const FieldLayout& field = check.field();
  if (!field.missing || !std::holds_alternative<AtOctet>(field.place)) return;
  const NumberForm* const number = number_form(field);
  if (number == nullptr) {
    if (is_written_as<OctetsForm>(field)) {
      check.add("missing", "only numbers have a value for `not measured`", "a number type");
    }
  } else if (is_valid(*number) && !can_hold(*number, *field.missing)) {
    check.add("missing", "the type can't hold this value",
              "a raw value, before scale and offset, that the type can hold");
  }
}

void find_words_faults(const FieldCheck& check) {
  const FieldLayout& field = check.field();
  if (field.words.empty()) return;
  if (field.words.size() > kMostWords) {
    check.add("words", "too many words", "at most " + std::to_string(kMostWords));
    return;
  }
  if (is_written_as<OctetsForm>(field)) {
    check.add("words", "only numbers and text can be an enumeration", "a number type");
  }
  std::set<std::int64_t> seen;
  for (const auto& [raw, word] : field.words) {
    if (!seen.insert(raw).second) {
      check.add("words", "the raw value " + std::to_string(raw) + " stands twice",
                "one word for each raw value");
    }
    if (word.empty() || word.size() > kLongestText) {
      check.add("words", "no word", "1 to " + std::to_string(kLongestText) + " characters");
    }
  }
}

void find_constant_faults(const FieldCheck& check) {
  const FieldLayout& field = check.field();
  if (!field.equals) return;
  const std::size_t size = field.equals->size();
  if (size == 0 || size > static_cast<std::size_t>(check.faults.frame().most_octets)) {
    check.add("equals", "no constant", "1 byte to `most_bytes`");
    return;
  }
  const auto* const place = std::get_if<AtOctet>(&field.place);
  if (place == nullptr) return;
  const NumberForm* const number = number_form(field);
  if (number != nullptr && number->bits) {
    check.add("equals", "a constant holds whole bytes, not bits",
              "a field of its own for the whole bytes; fields may overlap");
  }
  const std::optional<int> octets = octets_of(place->form);
  const bool fits = std::holds_alternative<TextForm>(place->form)
                        ? !octets || size <= static_cast<std::size_t>(*octets)
                        : !octets || size == static_cast<std::size_t>(*octets);
  if (!fits) {
    check.add("equals", "the constant has another width than the field",
              std::to_string(*octets) + " bytes");
  }
}

/// A field before this one that says something about it; null, with a fault,
/// where there is none that can.
const FieldLayout* find_reference(const FieldCheck& check, const char* key,
                                  const std::string& name) {
  const FieldLayout* const other = check.earlier(name);
  if (other == nullptr) {
    check.add(key, "no field before is called `" + name + "`", "the name of a field before");
    return nullptr;
  }
  const bool is_binary = std::holds_alternative<AtOctet>(other->place);
  const NumberForm* const number = number_form(*other);
  if (is_binary && (number == nullptr || number->kind == NumberKind::real)) {
    check.add(key, "`" + name + "` is no whole number", "a field of an integer type");
    return nullptr;
  }
  if (other->repeat) {
    check.add(key, "`" + name + "` comes several times", "a field that comes once");
    return nullptr;
  }
  return other;
}

void find_presence_faults(const FieldCheck& check) {
  const std::optional<Presence>& when = check.field().when;
  if (!when) return;
  if (when->bit.has_value() == when->equals.has_value()) {
    check.add("when", "nothing, or too much, says when the field is there",
              "either a bit that is set or a raw value");
  }
  const FieldLayout* const other = find_reference(check, "when", when->field);
  if (other == nullptr) return;
  const NumberForm* const number = number_form(*other);
  const int bits = number == nullptr || !is_valid(*number) ? 64 : width_bits(*number);
  if (when->bit && (*when->bit < 0 || *when->bit >= bits)) {
    check.add("when", "`" + when->field + "` has no such bit",
              "0 to " + std::to_string(bits - 1) + ", 0 being the least significant");
  }
  if (when->equals && number != nullptr && is_valid(*number) && !can_hold(*number, *when->equals)) {
    check.add("when", "`" + when->field + "` can't hold this value", "a raw value that it can");
  }
}

void find_repeat_faults(const FieldCheck& check) {
  const FieldLayout& field = check.field();
  if (!field.repeat) return;
  if (!comes_often(field.role)) {
    check.add("repeat", "a field of this role comes once", "role `reading` or `part`");
  }
  if (std::holds_alternative<AtKey>(field.place) || std::holds_alternative<AtRecord>(field.place) ||
      std::holds_alternative<AfterText>(field.place)) {
    check.add("repeat", "what is found by its name comes once", "a field for each");
  }
  const auto* const place = std::get_if<AtOctet>(&field.place);
  if (place != nullptr && !octets_of(place->form)) {
    check.add("repeat", "a field without a width can't come several times", "a width");
  }
  if (field.repeat->stride < 0 || field.repeat->stride > check.faults.frame().most_octets ||
      (field.repeat->stride > 0 && place == nullptr)) {
    check.add("repeat", "no such stride",
              "bytes from one to the next, within `most_bytes`, in a binary body");
  }
  if (const int* const count = std::get_if<int>(&field.repeat->count)) {
    if (*count < 1 || *count > kMostRepetitions) {
      check.add("repeat", "can't come so often", "1 to " + std::to_string(kMostRepetitions));
    }
  } else {
    find_reference(check, "repeat", std::get<std::string>(field.repeat->count));
  }
}

/// A field that must be there, right behind one that may lie past the end, would
/// make that one's absence a fault.
void find_optional_faults(const FieldCheck& check) {
  if (check.index == 0 || check.field().optional || check.field().when) return;
  const auto* const place = std::get_if<AtOctet>(&check.field().place);
  const FieldLayout& before = check.faults.frame().fields[check.index - 1];
  const auto* const place_before = std::get_if<AtOctet>(&before.place);
  if (place == nullptr || place->at || place_before == nullptr || !before.optional) return;
  check.add("optional", "the field before may be absent, but this one, behind it, may not",
            "optional too, or a place of its own");
}

/// A reading that shares its name with what the network's number becomes.
void find_network_faults(Faults& faults) {
  const auto& fields = faults.frame().fields;
  const bool has_network = std::any_of(fields.begin(), fields.end(), [](const FieldLayout& field) {
    return field.role == FieldRole::network;
  });
  for (std::size_t i = 0; has_network && i < fields.size(); ++i) {
    if (fields[i].role != FieldRole::reading || fields[i].name != kNetworkReading) continue;
    faults.about_field(i, "name", "the field with the role `network` gives a reading of this name",
                       "another name");
  }
}

void find_twice_given_roles(Faults& faults) {
  std::map<FieldRole, std::size_t> first;
  const auto& fields = faults.frame().fields;
  for (std::size_t i = 0; i < fields.size(); ++i) {
    if (comes_often(fields[i].role)) continue;
    const auto [known, is_new] = first.try_emplace(fields[i].role, i);
    if (!is_new) {
      faults.about_field(i, "role", "`" + fields[known->second].name + "` has the same role",
                         "one field of this role; role `part` for others");
    }
  }
}

}  // namespace

void find_field_faults(Faults& faults) {
  const std::size_t count = faults.frame().fields.size();
  if (count == 0 || count > kMostFields) {
    faults.about_frame("field", count == 0 ? "the frame has no fields" : "too many fields",
                       "1 to " + std::to_string(kMostFields) + " fields");
    return;
  }
  for (std::size_t i = 0; i < count; ++i) {
    const FieldCheck check{faults, i};
    find_name_faults(check);
    find_place_faults(faults, i);
    find_role_faults(check);
    find_conversion_faults(check);
    find_missing_faults(check);
    find_words_faults(check);
    find_constant_faults(check);
    find_presence_faults(check);
    find_repeat_faults(check);
    find_optional_faults(check);
  }
  find_twice_given_roles(faults);
  find_network_faults(faults);
}

}  // namespace fieldfare::fleet::internal
