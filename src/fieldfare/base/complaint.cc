// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/complaint.h"

namespace fieldfare {

std::string Complaint::text() const {
  std::string out = place.file;
  if (place.line > 0) {
    out += ':' + std::to_string(place.line);
    if (place.column > 0) out += ':' + std::to_string(place.column);
  }
  if (!out.empty()) out += ": ";
  out += what;
  if (!expected.empty()) out += "; " + expected;
  return out;
}

}  // namespace fieldfare
