// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/ports.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <fstream>
#include <string_view>
#include <system_error>
#include <tuple>
#include <utility>

#include "fieldfare/source/internal/port_scan.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source {
namespace {

namespace fs = std::filesystem;

// A machine has few ports; what claims more is no machine.
constexpr std::size_t kMostPorts = 1'024;
constexpr std::size_t kMostLevels = 16;  // of hubs between a port and its device

/// Names of entries, sorted; none where the folder can't be read.
std::vector<std::string> entries(const fs::path& folder) {
  std::vector<std::string> names;
  std::error_code error;
  for (fs::directory_iterator at{folder, error}, end; !error && at != end; at.increment(error)) {
    names.push_back(at->path().filename().string());
  }
  std::ranges::sort(names);
  return names;
}

/// The first line of a file of /sys, safe to print; empty where there is none.
std::string line_of(const fs::path& path) {
  std::ifstream in{path, std::ios::binary};
  std::array<char, 256> text{};
  in.read(text.data(), text.size());
  std::string_view line{text.data(), static_cast<std::size_t>(in.gcount())};
  line = line.substr(0, std::min(line.find('\n'), line.size()));
  while (line.ends_with(' ')) line.remove_suffix(1);
  return wire::excerpt(line);
}

/// `ttyUSB10` as {"ttyUSB", 10}, so that it comes behind `ttyUSB9`.
std::pair<std::string_view, unsigned> numbered(std::string_view name) {
  const std::size_t digits = name.find_last_not_of("0123456789") + 1;
  unsigned number = 0;
  std::from_chars(name.data() + digits, name.data() + name.size(), number);
  return {name.substr(0, digits), number};
}

/// Sockets for ports that were never soldered have the type 0 ("unknown").
/// Source: the kernel's ABI document of /sys/class/tty/ttyS<x>/type (from memory).
bool has_hardware(const fs::path& root, const std::string& name) {
  const std::string type = line_of(root / "sys/class/tty" / name / "type");
  return !type.empty() && type != "0";
}

bool is_port(const fs::path& root, const std::string& name) {
  const auto [kind, number] = numbered(name);
  if (kind.size() == name.size()) return false;
  if (kind == "ttyS") return has_hardware(root, name);
  return kind == "ttyUSB" || kind == "ttyACM" || kind == "ttyAMA";
}

/// The folder of the USB device that `device` of /sys is a part of.
std::optional<fs::path> usb_device(fs::path device) {
  for (std::size_t level = 0; level < kMostLevels && device.has_relative_path(); ++level) {
    std::error_code error;
    if (fs::exists(device / "idVendor", error)) return device;
    device = device.parent_path();
  }
  return std::nullopt;
}

void describe(const fs::path& root, const std::string& name, Port& port) {
  const fs::path device = real_path(root / "sys/class/tty" / name / "device");
  std::error_code error;
  const fs::path driver = fs::read_symlink(device / "driver", error);
  if (!error) port.driver = wire::excerpt(driver.filename().string());
  const auto usb = usb_device(device);
  if (!usb) return;
  port.usb_id = line_of(*usb / "idVendor") + ':' + line_of(*usb / "idProduct");
  port.description = line_of(*usb / "product");
  port.manufacturer = line_of(*usb / "manufacturer");
  port.serial_number = line_of(*usb / "serial");
}

/// Links that udev makes, by what they lead to.
std::vector<std::pair<fs::path, std::string>> stable_names(const fs::path& root) {
  std::vector<std::pair<fs::path, std::string>> names;
  for (const std::string& name : entries(root / "dev/serial/by-id")) {
    names.emplace_back(real_path(root / "dev/serial/by-id" / name), "/dev/serial/by-id/" + name);
  }
  return names;
}

bool holds(const fs::path& process, const fs::path& device) {
  std::error_code error;
  for (fs::directory_iterator at{process / "fd", error}, end; !error && at != end;
       at.increment(error)) {
    std::error_code none;
    if (fs::read_symlink(at->path(), none) == device && !none) return true;
  }
  return false;
}

}  // namespace

fs::path below(const fs::path& root, const std::string& device) {
  return root / fs::path{device}.relative_path();
}

fs::path real_path(const fs::path& path) {
  std::error_code error;
  fs::path real = fs::canonical(path, error);
  return error ? path : real;
}

std::vector<Port> scan_ports(const fs::path& root) {
  const auto stable = stable_names(root);
  std::vector<Port> ports;
  for (const std::string& name : entries(root / "dev")) {
    if (ports.size() == kMostPorts) break;
    if (!is_port(root, name)) continue;
    Port port;
    port.device = "/dev/" + name;
    const fs::path real = real_path(root / "dev" / name);
    const auto link = std::ranges::find(stable, real, &std::pair<fs::path, std::string>::first);
    if (link != stable.end()) port.stable_name = wire::excerpt(link->second);
    describe(root, name, port);
    port.may_open = eaccess(real.c_str(), R_OK) == 0;
    ports.push_back(std::move(port));
  }
  const auto order = [](const Port& port) {
    return std::tuple{!port.usb_id.has_value(), numbered(port.device)};
  };
  std::ranges::sort(ports, [&](const Port& a, const Port& b) { return order(a) < order(b); });
  return ports;
}

std::string holder_of(const fs::path& root, const std::string& device) {
  const fs::path real = real_path(below(root, device));
  for (const std::string& name : entries(root / "proc")) {
    if (name.find_first_not_of("0123456789") != std::string::npos) continue;
    const fs::path process = root / "proc" / name;
    if (holds(process, real)) return line_of(process / "comm") + " (process " + name + ')';
  }
  return {};
}

std::vector<Port> list_ports(const fs::path& root) {
  std::vector<Port> ports = scan_ports(root);
  for (Port& port : ports) port.busy_by = holder_of(root, port.device);
  return ports;
}

}  // namespace fieldfare::source
