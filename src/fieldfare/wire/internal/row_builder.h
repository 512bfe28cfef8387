// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <limits>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/hearing.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/internal/label_cache.h"
#include "fieldfare/wire/internal/number.h"
#include "fieldfare/wire/internal/time_reader.h"
#include "fieldfare/wire/internal/trouble.h"
#include "fieldfare/wire/log_format.h"

namespace fieldfare::wire {

/// One column of a log, with all that its values need.
struct Column {
  std::string name;
  ColumnKind kind = ColumnKind::ignored;
  fleet::FieldIndex field{};  ///< of readings
  PlausibleRange plausible{-std::numeric_limits<double>::infinity(),
                           std::numeric_limits<double>::infinity()};
};

/// Fills a hearing value by value, from texts of either format. One builder
/// serves all rows of a log and owns the readings of the current one.
class RowBuilder {
 public:
  /// `receiver` is that of rows that name none; it must outlive the builder.
  RowBuilder(fleet::Labels& labels, NumberGrammar grammar, std::string_view receiver)
      : labels_{labels}, grammar_{grammar}, receiver_if_not_given_{receiver} {}

  void begin();
  /// Takes one value that was given: `text` is not empty and lives until finish().
  Trouble set(const Column& column, std::string_view text);
  /// Checks that what a hearing must have was given, and supplies the rest.
  /// Names are looked up here, so that a damaged row makes no node known.
  Trouble finish();
  /// The column at fault after finish() found trouble, where there is one.
  const Column* blamed() const { return blamed_; }
  /// Valid after finish() said none, until begin().
  const fleet::Hearing& hearing() const { return hearing_; }

 private:
  Trouble set_time(std::string_view text);
  Trouble set_arrival(std::string_view text);
  Trouble set_counter(std::string_view text);
  Trouble set_number(const Column& column, std::string_view text);
  bool look_up_node();
  bool look_up_receiver();

  fleet::Labels& labels_;
  NumberGrammar grammar_;
  std::string_view receiver_if_not_given_;
  fleet::Hearing hearing_;
  std::vector<fleet::Reading> readings_;
  bool has_time_ = false;
  /// A name as the row gives it, and the column it stands in.
  struct Name {
    std::string_view text;
    const Column* column = nullptr;
  };
  Name node_;
  Name receiver_;
  const Column* blamed_ = nullptr;
  TimeReader time_reader_;
  TimeReader arrival_reader_;
  LabelCache<fleet::NodeIndex, 2048> known_nodes_;
  LabelCache<fleet::ReceiverIndex, 64> known_receivers_;
};

}  // namespace fieldfare::wire
