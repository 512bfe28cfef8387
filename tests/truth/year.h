// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <type_traits>

namespace fieldfare::truth {

/// A hearing of the invented year, with the readings that the report carried.
struct YearRow {
  std::int64_t time_ns = 0;
  std::uint32_t node = 0;      ///< 0 .. nodes - 1; address by node_address()
  std::uint32_t receiver = 0;  ///< 0 or 1
  std::uint64_t seq = 0;       ///< 16 bits, wraps
  double rssi_dbm = 0;
  double snr_db = 0;
  double temperature_c = 0;
  double humidity_pct = 0;
};

struct YearSize {
  std::uint64_t seed = 1;
  std::uint32_t nodes = 200;
  std::uint32_t days = 365;
  double loss = 0.05;  ///< of each receiver, independent
};

/// Hands the hearings of a year to `take(context, row)` in order of time, in
/// memory that grows with the nodes alone. Of 200 nodes 38 report every 10 min,
/// 41 every 15, 40 every 20, 41 every 40 and 40 every 60 min, off by up to 50 ppm
/// each, to two receivers: 10.2 million hearings. All of it is invented.
/// Returns the number of hearings.
std::uint64_t stream_year(const YearSize& size, void (*take)(void*, const YearRow&), void* context);

/// The same for a lambda or other callable.
template <class Take>
std::uint64_t stream_year(const YearSize& size, Take&& take) {
  using Callable = std::remove_reference_t<Take>;
  return stream_year(
      size, [](void* context, const YearRow& row) { (*static_cast<Callable*>(context))(row); },
      &take);
}

/// First line of a CSV log of such rows, with its line end.
std::string_view year_csv_header();
void append_year_csv(const YearRow& row, std::string& text);

/// The same hearing as a line of JSON with the keys of the log format.
void append_year_json(const YearRow& row, std::string& text);

}  // namespace fieldfare::truth
