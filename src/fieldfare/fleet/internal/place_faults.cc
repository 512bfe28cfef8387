// SPDX-License-Identifier: Apache-2.0
// Where a field stands and how it is written.

#include <algorithm>

#include "fieldfare/fleet/internal/frame_faults.h"

namespace fieldfare::fleet::internal {
namespace {

template <class... Cases>
struct Overload : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overload(Cases...) -> Overload<Cases...>;

struct At {
  Faults& faults;
  std::size_t index;

  const FieldLayout& field() const { return faults.frame().fields[index]; }
  void add(std::string key, std::string what, std::string expected) const {
    faults.about_field(index, std::move(key), std::move(what), std::move(expected));
  }
};

bool suits(const FieldPlace& place, Body body) {
  switch (body) {
    case Body::binary:
      return std::holds_alternative<AtOctet>(place);
    case Body::text:
      return std::holds_alternative<AtColumn>(place) || std::holds_alternative<AtKey>(place) ||
             std::holds_alternative<AfterText>(place);
    case Body::json:
    case Body::cbor:
      return std::holds_alternative<AtPointer>(place);
    case Body::senml_json:
    case Body::senml_cbor:
      return std::holds_alternative<AtRecord>(place);
  }
  return false;
}

const char* place_of(Body body) {
  switch (body) {
    case Body::binary:
      return "`at` and `type`, for a binary body";
    case Body::text:
      return "`column`, `key` or `after`, for a body of text";
    case Body::json:
    case Body::cbor:
      return "`pointer`, for a body of JSON or CBOR";
    case Body::senml_json:
    case Body::senml_cbor:
      return "`record`, for a body of SenML";
  }
  return "";
}

void find_number_faults(const At& at, const NumberForm& number) {
  if (number.octets < 1 || number.octets > 8) {
    at.add("type", "no number has this width", "1 to 8 bytes");
    return;
  }
  const bool is_real = number.kind == NumberKind::real;
  if (is_real && number.octets != 2 && number.octets != 4 && number.octets != 8) {
    at.add("type", "no IEEE 754 number has this width", "2, 4 or 8 bytes");
  }
  if (!number.bits) return;
  if (is_real || number.kind == NumberKind::bcd) {
    at.add("bits", "only integers have bits to choose from", "an integer type");
  } else if (number.bits->low < 0 || number.bits->high < number.bits->low ||
             number.bits->high >= 8 * number.octets) {
    at.add("bits", "bits outside the integer",
           "lowest and highest bit, within 0 to " + std::to_string(8 * number.octets - 1));
  }
}

void find_form_faults(const At& at, const BinaryForm& form) {
  if (const auto* const number = std::get_if<NumberForm>(&form)) {
    find_number_faults(at, *number);
    return;
  }
  const std::optional<int> octets = octets_of(form);
  if (octets && (*octets < 1 || *octets > at.faults.frame().most_octets)) {
    at.add("type", "no field has this width", "1 byte to `most_bytes`");
  }
}

/// Octets from the first of a field to its last, repetitions included, as far as
/// that doesn't depend on the frame.
std::optional<std::int64_t> extent(const FieldLayout& field, const BinaryForm& form) {
  const std::optional<int> octets = octets_of(form);
  if (!octets) return std::nullopt;
  if (!field.repeat) return *octets;
  const int* const count = std::get_if<int>(&field.repeat->count);
  const std::int64_t stride = field.repeat->stride > 0 ? field.repeat->stride : *octets;
  return (count == nullptr ? 0 : *count - 1) * stride + *octets;
}

/// True where a field has no `at` and the one before it runs to the frame's end.
bool follows_the_end(const At& at) {
  if (at.index == 0) return false;
  const auto* const before = std::get_if<AtOctet>(&at.faults.frame().fields[at.index - 1].place);
  if (before == nullptr) return false;
  const auto* const octets = std::get_if<OctetsForm>(&before->form);
  return octets != nullptr && !octets->octets;
}

void find_octet_faults(const At& at, const AtOctet& place) {
  find_form_faults(at, place.form);
  if (!place.at) {
    if (follows_the_end(at)) {
      at.add("at", "the field before runs to the end of the frame",
             "`at` counted from the end, or a width for the field before");
    }
    return;
  }
  const std::int64_t most = at.faults.frame().most_octets;
  const std::int64_t width = extent(at.field(), place.form).value_or(1);
  const std::int64_t room = *place.at < 0 ? -std::int64_t{*place.at} : most - *place.at;
  if (*place.at < -most || *place.at >= most) {
    at.add("at", "lies outside the frame", "a byte within `most_bytes`");
  } else if (width > room) {
    at.add("at", "the field has no room before the end of the frame",
           std::to_string(width) + " bytes or more from there to the end");
  }
}

void find_key_faults(const At& at, const AtKey& place) {
  const FrameFacts& frame = at.faults.frame();
  if (place.key.empty() || place.key.size() > kLongestText) {
    at.add("key", "no key", "1 to " + std::to_string(kLongestText) + " characters");
  } else if (place.key.find(frame.separator) != std::string::npos ||
             place.key.find(frame.assignment) != std::string::npos) {
    at.add("key", "holds the separator or the assignment sign", "what stands before that sign");
  }
}

void find_column_faults(const At& at, int column) {
  if (column < 0 || column >= kMostColumns) {
    at.add("column", "no such column", "0 to " + std::to_string(kMostColumns - 1));
  }
}

void find_after_faults(const At& at, const AfterText& place) {
  const char separator = at.faults.frame().separator;
  const auto is_control = [](char c) { return static_cast<unsigned char>(c) < ' ' && c != '\t'; };
  if (place.column) find_column_faults(at, *place.column);
  if ((place.text.empty() && !place.column) || place.text.size() > kLongestText) {
    at.add("after", "no text to look for",
           "1 to " + std::to_string(kLongestText) + " characters; none only within a `column`");
  } else if (std::any_of(place.text.begin(), place.text.end(), is_control)) {
    at.add("after", "holds what ends a line, or no character", "printed characters");
  } else if (place.column && place.text.find(separator) != std::string::npos) {
    at.add("after", "holds the separator, which no column does", "text within one column");
  }
}

void find_pointer_faults(const At& at, const AtPointer& place) {
  const FrameFacts& frame = at.faults.frame();
  if (place.pointer.empty() && frame.each.empty()) {
    at.add("pointer", "points to the whole body", "a pointer such as /temperature (RFC 6901)");
  } else if (const std::string fault = pointer_fault(place.pointer); !fault.empty()) {
    at.add("pointer", fault, "a pointer such as /temperature or /data/0 (RFC 6901)");
  }
}

}  // namespace

std::string pointer_fault(const std::string& pointer) {
  if (pointer.empty()) return {};
  if (pointer.front() != '/') return "a pointer begins with a slash";
  if (pointer.size() > kLongestText) return "the pointer is too long";
  if (std::count(pointer.begin(), pointer.end(), '/') >
      static_cast<std::ptrdiff_t>(kDeepestPointer)) {
    return "the pointer is too deep";
  }
  for (std::size_t i = 0; i < pointer.size(); ++i) {
    if (pointer[i] != '~') continue;
    if (i + 1 == pointer.size() || (pointer[i + 1] != '0' && pointer[i + 1] != '1')) {
      return "in a pointer a tilde is written ~0 and a slash within a name ~1";
    }
  }
  return {};
}

const NumberForm* number_form(const FieldLayout& field) {
  const auto* const place = std::get_if<AtOctet>(&field.place);
  return place == nullptr ? nullptr : std::get_if<NumberForm>(&place->form);
}

int width_bits(const NumberForm& number) {
  return number.bits ? number.bits->high - number.bits->low + 1 : 8 * number.octets;
}

void find_place_faults(Faults& faults, std::size_t index) {
  const At at{faults, index};
  const FieldPlace& place = at.field().place;
  if (!suits(place, faults.frame().body)) {
    at.add("at", "this body has no such place", place_of(faults.frame().body));
    return;
  }
  std::visit(Overload{[&](const AtOctet& octet) { find_octet_faults(at, octet); },
                      [&](const AtPointer& pointer) { find_pointer_faults(at, pointer); },
                      [&](const AtRecord& record) {
                        if (record.name.size() > kLongestText) {
                          at.add("record", "the name is too long",
                                 "at most " + std::to_string(kLongestText) + " characters");
                        }
                      },
                      [&](const AtColumn& column) { find_column_faults(at, column.column); },
                      [&](const AtKey& key) { find_key_faults(at, key); },
                      [&](const AfterText& after) { find_after_faults(at, after); }},
             place);
}

}  // namespace fieldfare::fleet::internal
