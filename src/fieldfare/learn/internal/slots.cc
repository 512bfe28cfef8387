// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slots.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <unordered_set>

#include "fieldfare/base/number_text.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::learn {

std::string Slot::called() const {
  if (const auto* const pointer = std::get_if<fleet::AtPointer>(&place)) {
    return wire::excerpt(pointer->pointer);
  }
  if (!key.empty()) return '"' + wire::excerpt(key) + '"';
  if (const auto* const column = std::get_if<fleet::AtColumn>(&place)) {
    return "column " + std::to_string(column->column);
  }
  const auto* const after = std::get_if<fleet::AfterText>(&place);
  if (after != nullptr && after->column) return "column " + std::to_string(*after->column);
  return "a value without a name";
}

Cell cell_of(std::string_view text, char decimal) {
  Cell cell{std::string{text}, std::nullopt};
  if (text.starts_with("0x") || text.starts_with("0X")) {
    std::uint64_t value = 0;
    const char* const end = text.data() + text.size();
    const auto [at, error] = std::from_chars(text.data() + 2, end, value, 16);
    if (error == std::errc{} && at == end) cell.number = static_cast<double>(value);
    return cell;
  }
  std::string plain{text};
  if (decimal == ',') std::replace(plain.begin(), plain.end(), ',', '.');
  cell.number = parse_number(plain);
  return cell;
}

SlotFacts facts_of(const Slot& slot) {
  SlotFacts facts;
  std::vector<double> numbers;
  std::unordered_set<std::string_view> texts;
  for (const auto& cell : slot.cells) {
    if (!cell) continue;
    ++facts.there;
    if (texts.size() < kMostDistinct) texts.insert(cell->text);
    if (!cell->number) continue;
    numbers.push_back(*cell->number);
    if (*cell->number == std::floor(*cell->number)) ++facts.whole;
  }
  facts.numbers = numbers.size();
  facts.distinct = texts.size();
  if (numbers.empty()) return facts;
  std::sort(numbers.begin(), numbers.end());
  const std::size_t outer = numbers.size() / 10;
  facts.least = numbers.front();
  facts.most = numbers.back();
  facts.low = numbers[outer];
  facts.high = numbers[numbers.size() - 1 - outer];
  facts.middle = numbers[numbers.size() / 2];
  return facts;
}

}  // namespace fieldfare::learn
