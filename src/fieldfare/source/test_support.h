// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <fcntl.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstddef>
#include <cstdint>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <system_error>

// What stands in for hardware in tests.
namespace fieldfare::source::test {

/// A serial port with nobody behind it but the test: what write() is given
/// comes in at the port `device()`, octet for octet, at any speed.
///
///     PseudoTerminal receiver;
///     listen_to("serial://" + receiver.device());
///     receiver.write("hello");
///     receiver.hang_up();  // the plug is pulled
///
/// A program that must find a port again after it was replugged is given a
/// symbolic link in place of device(), which the test re-points to another
/// PseudoTerminal. A pseudo-terminal has no parity, no data bits but 8, and
/// counts no overruns.
class PseudoTerminal {
 public:
  /// Throws std::system_error where the system has none to give.
  PseudoTerminal() : controller_{posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK)} {
    std::array<char, 64> name{};
    if (controller_ < 0 || grantpt(controller_) != 0 || unlockpt(controller_) != 0 ||
        ptsname_r(controller_, name.data(), name.size()) != 0) {
      throw std::system_error{errno, std::generic_category(), "pseudo-terminal"};
    }
    device_ = name.data();
    termios raw{};
    tcgetattr(controller_, &raw);
    cfmakeraw(&raw);  // also before somebody opens it: no echo, no line ends changed
    tcsetattr(controller_, TCSANOW, &raw);
  }
  ~PseudoTerminal() { hang_up(); }
  PseudoTerminal(const PseudoTerminal&) = delete;
  PseudoTerminal& operator=(const PseudoTerminal&) = delete;

  const std::string& device() const { return device_; }

  /// As much of `octets` as the port has room for (some 4 KiB while nobody
  /// reads); how many that were.
  std::size_t write_some(std::string_view octets) const {
    const ssize_t written = ::write(controller_, octets.data(), octets.size());
    return written > 0 ? static_cast<std::size_t>(written) : 0;
  }

  /// All of `octets`. Only for so few as the port has room for; throws otherwise.
  void write(std::string_view octets) const {
    if (write_some(octets) != octets.size())
      throw std::runtime_error{"the pseudo-terminal is full"};
  }
  void write(std::span<const std::uint8_t> octets) const {
    write(std::string_view{reinterpret_cast<const char*>(octets.data()), octets.size()});
  }

  /// What the program under test wrote to the port; "" while that is nothing.
  std::string written() const {
    std::string all;
    std::array<char, 4096> some{};
    ssize_t size = 0;
    while (controller_ >= 0 && (size = ::read(controller_, some.data(), some.size())) > 0) {
      all.append(some.data(), static_cast<std::size_t>(size));
    }
    return all;
  }

  /// The port is gone, with its name. The destructor does it too.
  void hang_up() {
    if (controller_ >= 0) ::close(controller_);
    controller_ = -1;
  }

 private:
  int controller_;
  std::string device_;
};

}  // namespace fieldfare::source::test
