// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/address.h"
#include "fieldfare/base/instant.h"
#include "fieldfare/base/result.h"
#include "fieldfare/fleet/frame.h"
#include "fieldfare/physics/loop_current.h"

// What stands in a frame, read and written as its sheet says.
namespace fieldfare::wire {

/// One value of a reading.
struct FieldValue {
  std::uint16_t field = 0;       ///< index into FrameFacts::fields
  std::uint16_t repetition = 0;  ///< from 0; of fields that come once, 0
  double value = 0;              ///< in the unit that the field's name ends in
};

/// A 4-20 mA loop that carries no measurement.
struct LoopFault {
  std::uint16_t field = 0;
  physics::LoopState state{};
  double ma = 0;
  std::uint16_t repetition = 0;  ///< from 0; of fields that come once, 0
};

/// One report as a frame says it. Views point into the frame, or into the codec
/// that read it, and are valid until its next call.
struct ReportValues {
  std::optional<Address> address;
  std::string_view node_name;  ///< empty: none
  std::optional<std::uint64_t> sequence;
  std::optional<Instant> time;  ///< when it was heard or measured, as the frame says
  std::optional<Duration> age;
  std::string_view receiver;  ///< empty: none
  std::optional<double> rssi_dbm;
  std::optional<double> snr_db;
  std::optional<double> lqi;
  std::optional<double> noise_dbm;
  std::optional<double> supply_v;
  std::span<const FieldValue> readings;  ///< in the order of the sheet
  std::span<const LoopFault> loop_faults;
  std::optional<std::span<const std::uint8_t>> payload;
  std::span<const FieldValue> parts;  ///< raw values of fields that are parts; for encoding
};

enum class BodyFault : std::uint8_t {
  too_short,      ///< ends before a field that must be there
  too_long,       ///< goes on behind the last field
  another_kind,   ///< a constant differs: not this sheet's frame
  bad_value,      ///< no number, no digit, no address, no time where one must be
  missing_field,  ///< JSON, CBOR, text: nothing at its place
  bad_syntax,     ///< no JSON, no CBOR, no SenML
  too_deep,       ///< nested deeper than kDeepestBody
  too_many,       ///< more reports, records or repetitions than the bounds allow
  does_not_fit,   ///< encoding: the value has no room in its field
};

inline constexpr std::size_t kDeepestBody = 32;
inline constexpr std::size_t kMostReportsInBody = 4096;
inline constexpr std::size_t kMostRepetitions = 1024;  ///< of a field, whatever its counter says

/// Why a body gives no report.
struct BodyError {
  BodyFault fault{};
  std::size_t offset = 0;              ///< octets from the body's first, 0 where unknown
  std::optional<std::size_t> field{};  ///< index into FrameFacts::fields
};

/// `too-short`, `another-kind` and so on.
std::string_view body_fault_code(BodyFault fault);
/// For people, with the field's name and the offset.
std::string body_error_text(const BodyError& error, const fleet::FrameFacts& frame);

/// Takes the reports of a body one by one.
class ReportSink {
 public:
  virtual ~ReportSink() = default;
  virtual void report(const ReportValues& values) = 0;
};

/// Reads and writes bodies of one layout. Not for use by two threads at once.
class BodyCodec {
 public:
  virtual ~BodyCodec() = default;

  /// All reports of a body, or, with an error, none: what was wrong in one of
  /// several spoils them all. `body` is the frame as a Deframer hands it on,
  /// check included; offsets count from its first octet. Never reads outside it,
  /// whatever it holds.
  virtual std::optional<BodyError> decode(std::span<const std::uint8_t> body, ReportSink& sink) = 0;

  /// The body of one report, with room for the check (zeros), start and length in
  /// their places. Values that no field takes are left out; fields without a
  /// value are written as `missing`, else as NaN where they are IEEE 754, else as
  /// 0, and optional ones are left out. Parts that other fields refer to (flags,
  /// counts) and that have no value are made to fit the values of those.
  virtual Result<fleet::Octets, BodyError> encode(const ReportValues& values) = 0;
};

/// Preconditions: faults_of(frame) is empty; `frame` outlives the codec.
std::unique_ptr<BodyCodec> make_body_codec(const fleet::FrameFacts& frame);

}  // namespace fieldfare::wire
