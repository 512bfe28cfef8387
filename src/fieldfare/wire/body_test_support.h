// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <cstdint>
#include <memory>
#include <optional>
#include <ostream>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

#include "fieldfare/base/address.h"
#include "fieldfare/base/instant.h"
#include "fieldfare/wire/body_codec.h"

namespace fieldfare::wire::test {

/// A report with all that its views pointed to.
struct TakenReport {
  std::optional<Address> address{};
  std::string node_name{};
  std::optional<std::uint64_t> sequence{};
  std::optional<Instant> time{};
  std::optional<Duration> age{};
  std::string receiver{};
  std::optional<double> rssi_dbm{}, snr_db{}, lqi{}, noise_dbm{}, supply_v{};
  std::vector<std::tuple<int, int, double>> readings{};     ///< field, repetition, value
  std::vector<std::tuple<int, int, double>> loop_faults{};  ///< field, state, mA
  std::optional<fleet::Octets> payload{};
  std::vector<std::tuple<int, int, double>> parts{};

  bool operator==(const TakenReport&) const = default;
};

inline TakenReport taken(const ReportValues& values) {
  TakenReport report{values.address,  std::string{values.node_name},
                     values.sequence, values.time,
                     values.age,      std::string{values.receiver},
                     values.rssi_dbm, values.snr_db,
                     values.lqi,      values.noise_dbm,
                     values.supply_v};
  for (const FieldValue& v : values.readings) {
    report.readings.emplace_back(v.field, v.repetition, v.value);
  }
  for (const LoopFault& f : values.loop_faults) {
    report.loop_faults.emplace_back(f.field, static_cast<int>(f.state), f.ma);
  }
  if (values.payload) report.payload.emplace(values.payload->begin(), values.payload->end());
  for (const FieldValue& v : values.parts)
    report.parts.emplace_back(v.field, v.repetition, v.value);
  return report;
}

// The name that GoogleTest looks for.
// NOLINTNEXTLINE(readability-identifier-naming)
inline void PrintTo(const TakenReport& report, std::ostream* out) {
  if (report.address) *out << "address " << report.address->text() << ", ";
  if (!report.node_name.empty()) *out << "name " << report.node_name << ", ";
  if (report.sequence) *out << "sequence " << *report.sequence << ", ";
  if (report.time) *out << "time " << to_rfc3339(*report.time) << ", ";
  if (report.age) *out << "age " << report.age->ns << " ns, ";
  if (!report.receiver.empty()) *out << "receiver " << report.receiver << ", ";
  for (const auto& [field, repetition, value] : report.readings) {
    *out << "[" << field << "." << repetition << "] = " << value << ", ";
  }
  for (const auto& [field, repetition, value] : report.parts) {
    *out << "part [" << field << "." << repetition << "] = " << value << ", ";
  }
  if (report.payload) *out << "payload of " << report.payload->size() << " octets";
}

/// What a codec made of a body.
struct Decoded {
  std::vector<TakenReport> reports;
  std::optional<BodyError> error;

  std::optional<BodyFault> fault() const {
    return error ? std::optional{error->fault} : std::nullopt;
  }
};

inline Decoded decode(BodyCodec& codec, std::span<const std::uint8_t> body) {
  struct Sink : ReportSink {
    std::vector<TakenReport> reports;
    void report(const ReportValues& values) override { reports.push_back(taken(values)); }
  } sink;
  Decoded decoded;
  decoded.error = codec.decode(body, sink);
  decoded.reports = std::move(sink.reports);
  return decoded;
}

inline Decoded decode(BodyCodec& codec, std::string_view text) {
  return decode(codec, std::span{reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

inline std::string text_of(const fleet::Octets& octets) { return {octets.begin(), octets.end()}; }

/// Decodes a body and encodes each of its reports again; true where these decode
/// to the same, numbers to 1e-9 of themselves.
class AgainSink : public ReportSink {
 public:
  AgainSink(BodyCodec& encoder, BodyCodec& decoder) : encoder_{&encoder}, decoder_{&decoder} {}

  void report(const ReportValues& values) override {
    const auto body = encoder_->encode(values);
    if (!body) {
      refused_ = true;
      same_ = false;
      return;
    }
    const Decoded again = decode(*decoder_, *body);
    same_ = same_ && !again.error && again.reports.size() == 1 &&
            is_close(again.reports.front(), taken(values));
  }
  bool same() const { return same_; }
  /// True where a report could not be encoded.
  bool refused() const { return refused_; }

 private:
  static bool is_close(double a, double b) { return std::fabs(a - b) <= 1e-9 * std::fabs(b); }
  static bool is_close(const std::optional<double>& a, const std::optional<double>& b) {
    return a.has_value() == b.has_value() && (!a || is_close(*a, *b));
  }
  static bool are_close(const std::vector<std::tuple<int, int, double>>& a,
                        const std::vector<std::tuple<int, int, double>>& b) {
    if (a.size() != b.size()) return false;
    for (std::size_t i = 0; i < a.size(); ++i) {
      if (std::get<0>(a[i]) != std::get<0>(b[i]) || std::get<1>(a[i]) != std::get<1>(b[i]) ||
          !is_close(std::get<2>(a[i]), std::get<2>(b[i]))) {
        return false;
      }
    }
    return true;
  }
  static bool is_close(const TakenReport& a, const TakenReport& b) {
    return a.address == b.address && a.node_name == b.node_name && a.sequence == b.sequence &&
           a.time == b.time && a.age == b.age && a.receiver == b.receiver &&
           a.payload == b.payload && is_close(a.rssi_dbm, b.rssi_dbm) &&
           is_close(a.snr_db, b.snr_db) && is_close(a.lqi, b.lqi) &&
           is_close(a.noise_dbm, b.noise_dbm) && is_close(a.supply_v, b.supply_v) &&
           are_close(a.readings, b.readings) && are_close(a.loop_faults, b.loop_faults) &&
           are_close(a.parts, b.parts);
  }

  BodyCodec* encoder_;
  BodyCodec* decoder_;
  bool same_ = true;
  bool refused_ = false;
};

/// A field, most of it as it comes.
inline fleet::FieldLayout field(std::string name, fleet::FieldRole role, fleet::FieldPlace place) {
  fleet::FieldLayout layout;
  layout.name = std::move(name);
  layout.role = role;
  layout.place = std::move(place);
  return layout;
}

}  // namespace fieldfare::wire::test
