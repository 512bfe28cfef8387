// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/app/desk_inlets.h"
#include "fieldfare/app/trouble.h"
#include "fieldfare/fleet/sheet.h"
#include "fieldfare/site/load.h"

namespace fieldfare::app {

/// What is known, or believed, of the bytes of a desk. Without any sheet they are
/// rows of a log.
struct DeskSheets {
  std::vector<fleet::NodeSheet> nodes;           ///< those with a frame
  std::optional<fleet::ReceiverSheet> receiver;  ///< where one says what receivers hand on
  std::vector<site::NamedText> files;            ///< `sheets/NAME.toml`, as a site has them
};

/// Reads files of sheets. Complains of what is wrong in them.
Result<DeskSheets, Trouble> read_sheets(const std::vector<std::string>& paths);

/// The bytes of a desk read by certain sheets, from the beginning on.
class DeskReading {
 public:
  /// `sources`: the ways in, of which only receiver and endpoint are used.
  DeskReading(DeskSheets sheets, const std::vector<InletPlan>& sources);

  const DeskSheets& sheets() const { return *sheets_; }
  const fleet::Labels& labels() const { return *labels_; }
  DeskInlets& inlets() { return *inlets_; }

 private:
  std::unique_ptr<DeskSheets> sheets_;
  std::unique_ptr<fleet::Labels> labels_;
  std::vector<InletPlan> plans_;
  std::unique_ptr<DeskInlets> inlets_;
};

}  // namespace fieldfare::app
