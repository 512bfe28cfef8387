// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "fieldfare/learn/internal/pieces.h"
#include "fieldfare/learn/internal/report_series.h"
#include "fieldfare/learn/learn.h"

// What people are told of a piece of the frame.
namespace fieldfare::learn {

/// From least to most of what a number was, and how far it moves from report to report.
struct Movement {
  double least = 0;
  double most = 0;
  double mean_step = 0;
  double widest_in_node = 0;  ///< most less least of the node where that is largest
};

Movement movement_of(const ReportSeries& series, const Piece& number);

/// "octet 10", "octets 10 and 11", "octets 10 to 13".
std::string place_words(const Piece& piece);

/// "a signed number of 16 bits, high octet first".
std::string form_words(const fleet::NumberForm& form);

Finding constant_finding(const ReportSeries& series, const Piece& piece);
Finding node_constant_finding(const ReportSeries& series, const Piece& piece);
Finding network_finding(const ReportSeries& series, const Piece& piece);
Finding noise_finding(const ReportSeries& series, const Piece& piece);
Finding number_finding(const ReportSeries& series, const Piece& piece);
Finding signal_finding(const ReportSeries& series, const Piece& piece);
Finding supply_finding(const ReportSeries& series, const Piece& piece);
Finding opaque_finding(std::size_t octets, std::size_t frames);
Finding too_few_finding(const ReportSeries& series);

}  // namespace fieldfare::learn
