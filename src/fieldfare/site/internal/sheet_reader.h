// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/sheet.h"
#include "fieldfare/site/internal/check.h"
#include "fieldfare/site/internal/tree.h"
#include "fieldfare/site/internal/view.h"

namespace fieldfare::site {

/// The sheets at hand, by name. Those of the site stand before those built in:
/// a sheet of the same name and kind takes the other's place.
class SheetShelf {
 public:
  /// Reads one sheet file; `place` is where complaints say it is.
  /// `built_in` sheets give way to others without a word.
  void read(std::string_view text, const std::string& place, bool built_in, Complaints& complaints);

  /// Complains of node sheets whose cells are on no cell sheet. To be called
  /// once all sheets are read.
  void check_cells(Complaints& complaints) const;

  std::vector<fleet::NodeSheet> nodes;
  std::vector<fleet::ReceiverSheet> receivers;
  std::vector<fleet::CellSheet> cells;

 private:
  struct Origin {
    std::string kind;   ///< node, receiver or cell
    std::string place;  ///< file
    Spot spot;          ///< of the name
    bool built_in = false;
  };
  struct CellUse {
    std::string place;
    Spot spot;
    std::string type;
  };

  void note_cells(const View& file, const fleet::NodeSheet& sheet, const std::string& place);

  template <class Sheet>
  void put(std::vector<Sheet>& shelf, Sheet sheet, Origin origin, Complaints& complaints);

  std::map<std::string, Origin> origin_by_name_;  ///< by kind and name
  std::vector<CellUse> cell_uses_;
};

/// The names of the sheets on a shelf, to choose the nearest of.
template <class Sheet>
std::vector<std::string_view> sheet_names(const std::vector<Sheet>& shelf) {
  std::vector<std::string_view> names;
  names.reserve(shelf.size());
  for (const Sheet& sheet : shelf) names.push_back(sheet.head.name);
  return names;
}

}  // namespace fieldfare::site
