// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <iterator>
#include <limits>
#include <map>

#include "fieldfare/learn/internal/binary_kind.h"

namespace fieldfare::learn {
namespace {

fleet::FieldLayout address_field(const AddressGuess& address) {
  fleet::FieldLayout out;
  out.name = "node";
  out.role = fleet::FieldRole::address;
  out.place = fleet::AtOctet{static_cast<int>(address.from),
                             fleet::OctetsForm{static_cast<int>(address.octets), address.order}};
  return out;
}

fleet::FieldLayout counter_field(const CounterGuess& counter) {
  fleet::FieldLayout out;
  out.name = "seq";
  out.role = fleet::FieldRole::sequence;
  out.place = fleet::AtOctet{
      static_cast<int>(counter.at),
      fleet::NumberForm{fleet::NumberKind::unsigned_integer, counter.octets, counter.order, {}}};
  return out;
}

int octet_of(const fleet::FieldLayout& field) {
  const auto* const place = std::get_if<fleet::AtOctet>(&field.place);
  return place != nullptr ? place->at.value_or(std::numeric_limits<int>::max()) : 0;
}

/// The shortest sound frame: what lies behind its end may be absent.
std::size_t shortest(const BinaryFound& found) {
  std::map<std::size_t, std::size_t> counts;
  if (!found.framing.guess.facts.check) return found.length;
  for (const CutFrame* const frame : found.sound) ++counts[frame->octets.size()];
  for (const auto& [length, count] : counts) {
    if (count >= 3) return length;
  }
  return found.length;
}

}  // namespace

fleet::FrameFacts binary_layout(const BinaryFound& found) {
  fleet::FrameFacts out = found.framing.guess.facts;
  out.fields.clear();
  if (found.address) out.fields.push_back(address_field(*found.address));
  if (found.counter) out.fields.push_back(counter_field(*found.counter));
  const auto missing = static_cast<int>(found.length - std::min(found.length, shortest(found)));
  for (fleet::FieldLayout field : found.fields.fields) {
    const auto* const place = std::get_if<fleet::AtOctet>(&field.place);
    const int width = place == nullptr ? 0 : fleet::octets_of(place->form).value_or(0);
    if (octet_of(field) + width > static_cast<int>(found.length) - missing) field.optional = true;
    out.fields.push_back(std::move(field));
  }
  std::stable_sort(out.fields.begin(), out.fields.end(),
                   [](const auto& a, const auto& b) { return octet_of(a) < octet_of(b); });
  if (out.fields.empty()) out.fields.push_back(all_octets());
  return out;
}

std::vector<Mark> binary_marks(const BinaryFound& found, const fleet::FrameFacts& layout) {
  std::vector<Mark> out;
  if (!layout.start.empty()) out.push_back({0, layout.start.size(), "start"});
  if (layout.prefix) {
    const auto at = static_cast<std::size_t>(layout.prefix->at);
    out.push_back({at, at + static_cast<std::size_t>(layout.prefix->octets), "length"});
  }
  for (const fleet::FieldLayout& field : layout.fields) {
    const auto* const place = std::get_if<fleet::AtOctet>(&field.place);
    if (place == nullptr || !place->at) continue;
    const auto at = static_cast<std::size_t>(*place->at);
    const auto width = fleet::octets_of(place->form);
    const std::size_t to = width ? at + static_cast<std::size_t>(*width) : found.length;
    out.push_back({at, std::min(to, found.length), field.name});
  }
  if (layout.check) {
    const int at = layout.check->at;
    const auto from = static_cast<std::size_t>(at >= 0 ? at : static_cast<int>(found.length) + at);
    out.push_back({from, from + static_cast<std::size_t>(layout.check->octets), "check"});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Mark& a, const Mark& b) { return a.from < b.from; });
  return out;
}

}  // namespace fieldfare::learn
