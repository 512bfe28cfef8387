// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string_view>

namespace fieldfare::wire {

/// Why a row gave no hearing.
enum class Trouble : std::uint8_t {
  none,
  too_long,
  zero_byte,
  not_utf8,
  cell_count,
  stray_quote,
  open_quote,
  no_time,
  no_node,
  bad_time,
  clock_not_believed,
  bad_counter,
  bad_number,
  bad_name,
  not_json,
  no_object,
  nested_value,
  wrong_type,
  repeated_key,
  too_many_keys
};

struct TroubleWords {
  std::string_view code;  ///< stable, for programs; listed in docs/formats/log.md
  std::string_view what;
  std::string_view expected;
};

const TroubleWords& words_for(Trouble trouble);

}  // namespace fieldfare::wire
