// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/internal/flat_object.h"
#include "fieldfare/wire/internal/row_builder.h"
#include "fieldfare/wire/internal/row_reader.h"

namespace fieldfare::wire {

/// Reads JSON Lines: one flat object (RFC 8259) a line.
class JsonRows : public RowReader {
 public:
  JsonRows(fleet::Labels& labels, RowLog& log);

 protected:
  std::size_t take_row(const Line& line, std::string_view window, bool last,
                       const HearingSink& sink) override;

 private:
  /// A key seen in some row, and the last row that had it: that tells a key that
  /// stands twice.
  struct Key {
    Column column;
    std::string quoted;  ///< as FlatObject takes a guess; empty where it does not
    std::uint64_t row = 0;
  };
  struct TextHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const {
      return std::hash<std::string_view>{}(text);
    }
  };

  Fault build(std::string_view line);
  Fault take_member(std::string_view line, const FlatObject::Member& member, std::size_t position);
  std::string_view usual_key(std::size_t position) const;
  Trouble set(const Column& column, const FlatObject::Member& member);
  Key* key_at(std::size_t position, const FlatObject::Member& member);
  Key* find_key(std::string_view name);

  fleet::Labels& labels_;
  RowBuilder builder_;
  FlatObject object_;
  std::unordered_map<std::string, Key, TextHash, std::equal_to<>> keys_;  ///< stable addresses
  std::vector<Key*> usual_;  ///< the keys of rows before, by position
  std::uint64_t row_ = 0;
};

}  // namespace fieldfare::wire
