// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "fieldfare/fleet/sheet.h"

namespace fieldfare::site {

/// Comments of a sheet, each a text of any length; broken into lines of `# ...`.
struct SheetComments {
  std::string head;                 ///< above everything
  std::string frame;                ///< above [frame]
  std::string sequence;             ///< above [sequence]
  std::vector<std::string> fields;  ///< above each [[frame.field]], by index; may be shorter
  std::string tail;                 ///< at the end
};

/// A node's sheet as TOML, with its head, sequence, frame and facts of fields; what
/// else a NodeSheet can hold is left for people to write. Reading it gives the same
/// again. Preconditions: faults_of(*sheet.frame) is empty where there is a frame;
/// names, texts and numbers are such as sheets can hold (docs/formats/sheet.md).
std::string sheet_text(const fleet::NodeSheet& sheet, const SheetComments& comments);

}  // namespace fieldfare::site
