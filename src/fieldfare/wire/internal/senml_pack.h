// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fieldfare/wire/internal/tree.h"

namespace fieldfare::wire {

/// One record of a SenML pack, the base values of the pack applied.
struct SenmlRecord {
  std::string name;
  std::size_t base_size = 0;  ///< of the name, what came from the base name
  std::string unit;           ///< empty: none
  double time_s = 0;          ///< below kSenmlAbsolute relative to now
  Scalar value;               ///< nothing: a sum alone
  std::optional<double> sum;  ///< in the unit times seconds
  std::optional<double> update_s;
};

/// Times from here on count from 1970: 2^28 s. RFC 8428 section 4.5.3.
inline constexpr double kSenmlAbsolute = 268435456;

/// Resolves a pack as RFC 8428 section 4.6 says, relative times left as they are.
///
/// - Labels as in JSON; in CBOR also the integers of table 4 (`in_cbor`), of which
///   read_cbor() makes their decimal text.
/// - Records that hold base fields alone (section 5.1.7) give no record.
/// - Fields that are not known are ignored, unless their label ends in `_`: then
///   the pack is refused (section 4.4), as it is where its records differ in their
///   version; a version above 10 is another kind.
/// - Numbers of CBOR that are NaN or infinite are bad values.
/// - Names are checked as section 4.5.1 wants them; base names, names and units of
///   more than 256 octets are bad values.
/// - Integers stay exact unless a base value is added.
Result<std::vector<SenmlRecord>, BodyError> resolve_senml(const Tree& pack, bool in_cbor);

/// The integer of table 4 for a label, as decimal text; the label itself where it
/// has none.
std::string senml_cbor_label(const std::string& label);

/// Whether a record may be named this: RFC 8428 section 4.5.1.
bool is_senml_name(std::string_view name);

}  // namespace fieldfare::wire
