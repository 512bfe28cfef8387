// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/slots.h"
#include "fieldfare/learn/internal/tree_flat.h"

namespace fieldfare::learn {

struct DatedDocument {
  Document document;
  std::optional<Instant> at;
};

/// Documents as a table of the reports in them.
struct TreeTable {
  SlotTable table;
  fleet::Body body = fleet::Body::json;
  std::string each;           ///< pointer to the list of reports; empty: a document is one
  bool is_bare_list = false;  ///< the document itself is a list of several: one of them is read
};

/// Reports under pointers. `body` is json or cbor.
TreeTable tree_table(const std::vector<DatedDocument>& documents, fleet::Body body);

/// True where most are SenML packs: lists of records with names and values (RFC 8428).
bool are_senml(const std::vector<DatedDocument>& documents);

/// Records of a node at one time as one report, their names without the node's part.
TreeTable senml_table(const std::vector<DatedDocument>& documents);

}  // namespace fieldfare::learn
