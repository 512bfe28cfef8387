// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/tree_table.h"

#include <algorithm>
#include <map>
#include <unordered_map>

#include "fieldfare/learn/internal/slot_words.h"

namespace fieldfare::learn {
namespace {

constexpr std::size_t kMostSlots = 200;

bool is_index(std::string_view token) {
  return !token.empty() && token.find_first_not_of("0123456789") == std::string_view::npos;
}

std::vector<std::string> tokens_of(std::string_view pointer) {
  std::vector<std::string> tokens;
  while (!pointer.empty()) {
    pointer.remove_prefix(1);
    const std::size_t end = std::min(pointer.find('/'), pointer.size());
    tokens.emplace_back(pointer.substr(0, end));
    pointer.remove_prefix(end);
  }
  return tokens;
}

/// What people would call a pointer: its last name, with the one before it where the
/// last says too little.
std::string key_of(std::string_view pointer) {
  std::vector<std::string> names;
  for (std::string& token : tokens_of(pointer)) {
    if (!is_index(token)) names.push_back(std::move(token));
  }
  if (names.empty()) return {};
  const auto words = words_of(names.back());
  const bool says_little =
      words.size() == 1 && (words[0] == "id" || words[0] == "value" || words[0] == "val" ||
                            words[0] == "v" || words[0] == "name" || words[0] == "number");
  if (!says_little || names.size() == 1) return names.back();
  const std::string& parent = names[names.size() - 2];
  return words[0] == "id" || words[0] == "name" ? parent + ' ' + names.back() : parent;
}

/// Adds what a report says to a table, slot by slot.
class Filler {
 public:
  explicit Filler(TreeTable& made) : table_{made.table} {}

  void begin(std::optional<Instant> at) {
    table_.at.push_back(at);
    table_.breaks.push_back(0);
  }
  /// The slot for a name; nothing where there are too many.
  template <class MakeSlot>
  void put(const std::string& name, const Cell& cell, MakeSlot make) {
    constexpr std::size_t kLongestName = 256;  // more than a sheet can say
    if (name.size() > kLongestName) return;
    const auto [known, is_new] = index_.try_emplace(name, table_.slots.size());
    if (is_new) {
      if (table_.slots.size() == kMostSlots) {
        index_.erase(known);
        return;
      }
      table_.slots.push_back(make());
    }
    Slot& slot = table_.slots[known->second];
    slot.cells.resize(table_.reports());
    slot.cells.back() = cell;
  }
  void finish() {
    for (Slot& slot : table_.slots) slot.cells.resize(table_.reports());
  }

 private:
  SlotTable& table_;
  std::unordered_map<std::string, std::size_t> index_;
};

bool stands_in(std::string_view pointer, std::string_view list) {
  return pointer.size() > list.size() && pointer.starts_with(list) && pointer[list.size()] == '/';
}

/// True for a value of a later element of a list within a report: of lists of objects
/// the first is read, and of lists of numbers a few.
bool is_beyond(std::string_view pointer) {
  constexpr std::string_view kFew = "01234567";
  const auto tokens = tokens_of(pointer);
  for (std::size_t i = 0; i < tokens.size(); ++i) {
    if (!is_index(tokens[i]) || tokens[i] == "0") continue;
    const bool is_last = i + 1 == tokens.size();
    if (!is_last || tokens[i].size() > 1 || kFew.find(tokens[i]) == std::string_view::npos)
      return true;
  }
  return false;
}

/// The list of reports, where there is one: who sent them, or what counts them, is said
/// in it and not outside.
std::string find_each(const std::vector<DatedDocument>& documents) {
  std::map<std::string, std::size_t> lists;
  for (const DatedDocument& each : documents) {
    for (const auto& [pointer, count] : each.document.lists) {
      if (!pointer.empty() && !is_beyond(pointer)) ++lists[pointer];
    }
  }
  for (const auto& [list, count] : lists) {
    if (2 * count < documents.size()) continue;
    bool is_told_within = false;
    bool is_told_outside = false;
    for (const Leaf& leaf : documents.front().document.leaves) {
      const KeySense sense = sense_of(key_of(leaf.pointer), {});
      if (!sense.node && !sense.counter) continue;
      (stands_in(leaf.pointer, list) ? is_told_within : is_told_outside) = true;
    }
    if (is_told_within && !is_told_outside) return list;
  }
  return {};
}

Slot slot_at(const std::string& pointer) {
  Slot slot;
  slot.key = key_of(pointer);
  slot.place = fleet::AtPointer{pointer};
  return slot;
}

/// The reports of one document into the table, one for each element of the list.
void put_reports(const DatedDocument& dated, const std::string& each, Filler& filler) {
  std::string element;
  bool has_begun = false;
  for (const Leaf& leaf : dated.document.leaves) {
    std::string pointer = leaf.pointer;
    if (!each.empty()) {
      if (!stands_in(pointer, each)) continue;
      const std::string_view within = std::string_view{pointer}.substr(each.size() + 1);
      const std::size_t slash = within.find('/');
      if (slash == std::string_view::npos) continue;
      const std::string now{within.substr(0, slash)};
      if (!has_begun || now != element) filler.begin(dated.at);
      element = now;
      pointer = within.substr(slash);
    } else if (!has_begun) {
      filler.begin(dated.at);
    }
    has_begun = true;
    if (!is_beyond(pointer)) filler.put(pointer, leaf.cell, [&] { return slot_at(pointer); });
  }
}

// --- SenML -----------------------------------------------------------------------

/// One record of a pack, as its labels say (RFC 8428 section 4).
using Labels = std::map<std::string, Cell>;

std::vector<Labels> records_of(const Document& document) {
  std::vector<Labels> records;
  for (const Leaf& leaf : document.leaves) {
    const auto tokens = tokens_of(leaf.pointer);
    if (tokens.size() != 2 || !is_index(tokens[0])) return {};
    const std::size_t index = std::stoul(tokens[0].substr(0, 6));
    if (records.size() <= index) records.resize(index + 1);
    records[index][tokens[1]] = leaf.cell;
  }
  return records;
}

bool is_senml(const Document& document) {
  const auto records = records_of(document);
  bool has_name = false;
  return !records.empty() && std::all_of(records.begin(), records.end(), [&](const Labels& labels) {
    has_name = has_name || labels.contains("n") || labels.contains("bn");
    const bool has_value = labels.contains("v") || labels.contains("vs") || labels.contains("vb") ||
                           labels.contains("vd") || labels.contains("s") || labels.contains("bn");
    return has_name && has_value;
  });
}

std::string text_or_empty(const Labels& labels, const char* label) {
  const auto found = labels.find(label);
  return found == labels.end() ? std::string{} : found->second.text;
}

double number_or_zero(const Labels& labels, const char* label) {
  const auto found = labels.find(label);
  return found == labels.end() ? 0 : found->second.number.value_or(0);
}

/// The node's part of a resolved name as hearings call it: an address where digits stand
/// behind its last colon or slash, else all of it.
std::string node_in(std::string_view part) {
  while (part.ends_with('/') || part.ends_with(':')) part.remove_suffix(1);
  const std::size_t sign = part.find_last_of("/:");
  const std::string_view end = sign == std::string_view::npos ? part : part.substr(sign + 1);
  constexpr std::size_t kDigits = 8;
  const bool is_address = end.size() >= kDigits &&
                          end.find_first_not_of("0123456789abcdefABCDEF") == std::string_view::npos;
  return std::string{is_address ? end : part};
}

class SenmlFiller {
 public:
  explicit SenmlFiller(TreeTable& made) : filler_{made} {}

  void pack(const DatedDocument& dated) {
    std::string base;
    std::string base_unit;
    double base_time = 0;
    std::string last;
    for (const Labels& labels : records_of(dated.document)) {
      if (labels.contains("bn")) base = text_or_empty(labels, "bn");
      if (labels.contains("bu")) base_unit = text_or_empty(labels, "bu");
      if (labels.contains("bt")) base_time = number_or_zero(labels, "bt");
      std::string part = base;
      std::string name = text_or_empty(labels, "n");
      if (base.empty()) split(part, name);
      const std::string group =
          part + '\n' + std::to_string(base_time + number_or_zero(labels, "t"));
      if (group != last) begin(dated.at, part);
      last = group;
      const auto value = labels.find("v");
      if (value == labels.end() || name.empty()) continue;
      const std::string unit = labels.contains("u") ? text_or_empty(labels, "u") : base_unit;
      filler_.put(name, value->second, [&] {
        Slot slot;
        slot.key = name;
        slot.unit = unit;
        slot.place = fleet::AtRecord{name};
        return slot;
      });
    }
  }
  void finish() { filler_.finish(); }

 private:
  /// Where no base name says it, the node's part ends with the last colon or slash.
  static void split(std::string& part, std::string& name) {
    const std::size_t sign = name.find_last_of("/:");
    if (sign == std::string::npos) return;
    part = name.substr(0, sign + 1);
    name = name.substr(sign + 1);
  }

  void begin(std::optional<Instant> at, const std::string& part) {
    filler_.begin(at);
    const std::string node = node_in(part);
    if (node.empty()) return;
    filler_.put({}, Cell{node, std::nullopt}, [] {
      Slot slot;
      slot.key = "node";
      slot.place = fleet::AtRecord{};
      return slot;
    });
  }

  Filler filler_;
};

}  // namespace

TreeTable tree_table(const std::vector<DatedDocument>& documents, fleet::Body body) {
  TreeTable made;
  made.body = body;
  made.each = find_each(documents);
  Filler filler{made};
  for (const DatedDocument& document : documents) {
    put_reports(document, made.each, filler);
    for (const auto& [pointer, count] : document.document.lists) {
      made.is_bare_list = made.is_bare_list || (pointer.empty() && count > 1);
    }
  }
  filler.finish();
  return made;
}

bool are_senml(const std::vector<DatedDocument>& documents) {
  const auto packs =
      std::count_if(documents.begin(), documents.end(),
                    [](const DatedDocument& each) { return is_senml(each.document); });
  return 10 * static_cast<std::size_t>(packs) >= 9 * documents.size() && packs > 0;
}

TreeTable senml_table(const std::vector<DatedDocument>& documents) {
  TreeTable made;
  made.body = fleet::Body::senml_json;
  SenmlFiller filler{made};
  for (const DatedDocument& document : documents) {
    if (is_senml(document.document)) filler.pack(document);
  }
  filler.finish();
  return made;
}

}  // namespace fieldfare::learn
