// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/fleet/hearing.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/log_format.h"
#include "fieldfare/wire/stream_decoder.h"

namespace fieldfare::wire {

/// Why a report gives no hearing.
enum class Refusal : std::uint8_t { none, no_name, too_many_names, time_ahead };
std::string_view refusal_code(Refusal refusal);
std::string_view refusal_text(Refusal refusal);

/// Makes hearings of the reports of one layout.
class HearingMaker {
 public:
  /// `frame` and `labels` must outlive it; `receiver` is that of reports that
  /// name none.
  HearingMaker(const fleet::FrameFacts& frame, fleet::Labels& labels, std::string_view receiver);

  /// Fills `hearing`, and appends its readings to `readings`. What `outer`, the
  /// receiver's frame around it, knows and the report doesn't is taken from there.
  Refusal make(const ReportValues& report, const ReportValues* outer, const Delivery& delivery,
               fleet::Hearing& hearing, std::vector<fleet::Reading>& readings);

  /// True where the last hearing made has a time of its own, not its arrival's.
  bool knew_the_time() const { return knew_the_time_; }

 private:
  struct Name {
    fleet::FieldIndex index{};
    PlausibleRange plausible{};
  };

  std::optional<fleet::NodeIndex> node_of(const ReportValues& report, const ReportValues* outer);
  std::optional<fleet::ReceiverIndex> receiver_of(std::string_view name);
  bool set_time(const ReportValues& report, const ReportValues* outer, const Delivery& delivery,
                fleet::Hearing& hearing);
  const Name* name_of(const FieldValue& value);

  const fleet::FrameFacts* frame_;
  fleet::Labels* labels_;
  std::string receiver_;
  std::optional<fleet::ReceiverIndex> receiver_index_;
  std::vector<std::vector<std::optional<Name>>> names_;  ///< by field, by repetition
  bool knew_the_time_ = false;
};

}  // namespace fieldfare::wire
