// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/line_words.h"

#include <grp.h>
#include <sys/stat.h>

#include <array>
#include <system_error>

#include "fieldfare/source/internal/port_scan.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source {
namespace {

constexpr std::size_t kMostListed = 8;

/// `at 9600 baud, 7E1`
std::string settings_text(const fleet::SerialEndpoint& endpoint) {
  const char parity = endpoint.parity == fleet::Parity::none   ? 'N'
                      : endpoint.parity == fleet::Parity::even ? 'E'
                                                               : 'O';
  return "at " + std::to_string(endpoint.baud) + " baud, " + std::to_string(endpoint.data_bits) +
         parity + std::to_string(endpoint.stop_bits);
}

/// The group that may use the device; empty where there is none that helps.
std::string group_of(const std::filesystem::path& device) {
  struct stat status {};
  if (stat(device.c_str(), &status) != 0 || (status.st_mode & S_IRGRP) == 0 || status.st_gid == 0) {
    return {};
  }
  std::array<char, 4096> buffer{};
  group entry{};
  group* found = nullptr;
  if (getgrgid_r(status.st_gid, &entry, buffer.data(), buffer.size(), &found) != 0 || !found) {
    return std::to_string(status.st_gid);
  }
  return wire::excerpt(found->gr_name);
}

std::string ports_here(const std::filesystem::path& root) {
  const std::vector<Port> ports = scan_ports(root);
  if (ports.empty()) {
    return "this machine shows no serial port at all: plug the receiver in; if it is, the system "
           "lacks its driver, or a virtual machine or container doesn't hand it on (`dmesg` tells "
           "what the system saw)";
  }
  std::string list = "ports here:";
  for (std::size_t i = 0; i < ports.size() && i < kMostListed; ++i) {
    const Port& port = ports[i];
    list += (i == 0 ? " " : ", ") + port.device;
    if (!port.description.empty()) list += " (" + port.description + ')';
  }
  if (ports.size() > kMostListed) {
    list += " and " + std::to_string(ports.size() - kMostListed) + " more";
  }
  return list;
}

LineWords missing_words(const std::string& name, const LineCase& about) {
  if (about.was_up) {
    return {
        "the port " + name + " is gone",
        "plug the receiver in again: it is then listened to by itself; " + ports_here(about.root)};
  }
  return {"there is no port " + name, ports_here(about.root)};
}

LineWords rights_words(const std::string& name, const LineCase& about) {
  const std::string group = group_of(below(about.root, about.device));
  return {"no rights to read the port " + name,
          group.empty() ? "have its owner or an administrator give this user the right to read it"
                        : "add this user to the group " + group + " (`sudo usermod -aG " + group +
                              " USER`), then log in again"};
}

LineWords busy_words(const std::string& name, const LineCase& about) {
  const std::string holder = holder_of(about.root, about.device);
  return {"another program uses the port " + name + (holder.empty() ? "" : ": " + holder),
          "end that program" +
              std::string{holder.empty() ? " (`fuser " + name + "` names it to its user)" : ""} +
              "; two can't read from one port"};
}

}  // namespace

LineWords words_of(const LineFailure& failure, const LineCase& about) {
  // The receiver that moved to another name is still called by the site's.
  const std::string name =
      wire::excerpt(failure.trouble == LineTrouble::missing ? about.endpoint.device : about.device);
  switch (failure.trouble) {
    case LineTrouble::missing:
      return missing_words(name, about);
    case LineTrouble::rights:
      return rights_words(name, about);
    case LineTrouble::busy:
      return busy_words(name, about);
    case LineTrouble::no_port:
      return {name + " is no serial port", ports_here(about.root)};
    case LineTrouble::settings:
      return {"the port " + name + " can't be read " + settings_text(about.endpoint),
              "choose a speed, data bits, parity and stop bits that both it and the receiver have"};
    case LineTrouble::other:
      break;
  }
  return {
      "the port " + name + " can't be opened: " + std::generic_category().message(failure.error),
      {}};
}

std::string listening_words(const fleet::SerialEndpoint& endpoint, const std::string& device) {
  std::string name = wire::excerpt(device);
  if (device != endpoint.device) {
    name += ", where the receiver of " + wire::excerpt(endpoint.device) + " is now,";
  }
  return "listening to " + name + ' ' + settings_text(endpoint);
}

std::string overrun_words(const fleet::SerialEndpoint& endpoint, std::uint32_t octets) {
  return "the port " + wire::excerpt(endpoint.device) + " lost " + std::to_string(octets) +
         (octets == 1 ? " octet" : " octets") + ": its buffer was full";
}

}  // namespace fieldfare::source
