// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace fieldfare::source {

/// A serial port, with what the operating system knows of the device behind it.
struct Port {
  std::string device;        ///< `/dev/ttyUSB0`
  std::string stable_name;   ///< a link to it that stays when the numbering changes; or empty
  std::string description;   ///< product as the device calls itself, made safe to print
  std::string manufacturer;  ///< as the device calls it
  std::string serial_number;
  std::optional<std::string> usb_id;  ///< `vvvv:pppp`
  std::string driver;
  bool may_open = true;  ///< this user has the rights
  std::string busy_by;   ///< a program that holds it, where that can be seen
};

/// The ports of this machine, those of USB devices first. `root` is where /dev,
/// /sys and /proc are found; tests give another.
std::vector<Port> list_ports(const std::filesystem::path& root = "/");

}  // namespace fieldfare::source
