// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "fieldfare/cli/command.h"

// Values of options that say several things at once.
namespace fieldfare::cli {

/// `/dev/ttyUSB0` and `9600` (may be empty) as the URL of a source.
std::string url_of_port(std::string_view device, std::string_view baud);
/// `mqtt://broker?user=office` and a topic filter.
std::string url_of_broker(std::string_view url, std::string_view topic_filter);
/// `5005`, or `127.0.0.1:5005`.
std::string url_of_udp(std::string_view where);
/// A log of hearings; `-` is standard input.
std::string url_of_log(std::string_view path);

/// `TIME` or `TIME=DIGITS`.
std::optional<std::pair<Instant, std::string>> provoked_of(std::string_view text);
/// `NAME=NUMBER`, and behind it `@TIME` and `=DIGITS`, either or both. The tolerance
/// is half of the number's last digit.
std::optional<LearnCommand::Value> value_of(std::string_view text);

}  // namespace fieldfare::cli
