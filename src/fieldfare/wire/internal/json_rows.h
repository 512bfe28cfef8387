// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <string_view>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/internal/row_reader.h"

namespace fieldfare::wire {

/// Reads JSON Lines: one flat object (RFC 8259) a line.
class JsonRows : public RowReader {
 public:
  JsonRows(fleet::Labels& labels, RowLog& log);
  ~JsonRows() override;

 protected:
  std::size_t take_row(const Line& line, std::string_view window, bool last,
                       const HearingSink& sink) override;

 private:
  class Impl;  // keeps simdjson's header, which is large, out of this one
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::wire
