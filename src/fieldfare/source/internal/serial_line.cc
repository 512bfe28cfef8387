// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/serial_line.h"

// The kernel's own termios, which knows any speed; it can't stand beside <termios.h>.
#include <asm/termbits.h>
#include <fcntl.h>
#include <linux/serial.h>
#include <sys/file.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>

namespace fieldfare::source {
namespace {

LineFailure failure_of(int error) {
  switch (error) {
    case ENOENT:
    case ENOTDIR:
    case ENODEV:
    case ENXIO:
    case EIO:  // the far end of a pseudo-terminal, or the plug, was pulled meanwhile
      return {LineTrouble::missing, error};
    case EACCES:
    case EPERM:
      return {LineTrouble::rights, error};
    case EBUSY:
    case EWOULDBLOCK:
      return {LineTrouble::busy, error};
    case ENOTTY:
      return {LineTrouble::no_port, error};
    default:
      return {LineTrouble::other, error};
  }
}

tcflag_t flags_of(const fleet::SerialEndpoint& settings) {
  constexpr tcflag_t kSizes[] = {CS5, CS6, CS7, CS8};
  tcflag_t flags = BOTHER | CREAD | CLOCAL | kSizes[settings.data_bits - 5];
  if (settings.stop_bits == 2) flags |= CSTOPB;
  if (settings.parity != fleet::Parity::none) flags |= PARENB;
  if (settings.parity == fleet::Parity::odd) flags |= PARODD;
  return flags;
}

/// Drivers take what they can do and leave the rest without a word: read back.
bool took(const termios2& asked, const termios2& got) {
  constexpr tcflag_t kTold = CSIZE | CSTOPB | PARENB | PARODD;
  const auto speed = static_cast<double>(asked.c_ispeed);
  // Common practice: receivers tolerate 2 to 3 % between both ends.
  const bool near = std::abs(static_cast<double>(got.c_ispeed) - speed) <= 0.03 * speed;
  return near && (asked.c_cflag & kTold) == (got.c_cflag & kTold);
}

std::optional<LineFailure> configure(int line, const fleet::SerialEndpoint& settings) {
  termios2 mode{};
  if (ioctl(line, TCGETS2, &mode) != 0) return failure_of(errno);
  mode.c_iflag = IGNBRK;  // a break isn't an octet; nothing else is touched
  mode.c_oflag = 0;
  mode.c_lflag = 0;
  mode.c_cflag = flags_of(settings);
  mode.c_ispeed = mode.c_ospeed = settings.baud;
  mode.c_cc[VMIN] = 1;
  mode.c_cc[VTIME] = 0;
  if (ioctl(line, TCSETS2, &mode) != 0) {
    return errno == EINVAL ? LineFailure{LineTrouble::settings, errno} : failure_of(errno);
  }
  termios2 got{};
  if (ioctl(line, TCGETS2, &got) != 0) return failure_of(errno);
  if (!took(mode, got)) return LineFailure{LineTrouble::settings, 0};
  return std::nullopt;
}

/// Adapters gather octets for some milliseconds by themselves; those that can be
/// asked not to, are. The others go on as they are.
void ask_for_low_latency(int line) {
  serial_struct serial{};
  if (ioctl(line, TIOCGSERIAL, &serial) != 0) return;
  serial.flags |= ASYNC_LOW_LATENCY;
  (void)ioctl(line, TIOCSSERIAL, &serial);
}

std::optional<LineFailure> take_alone(int line) {
  // TIOCEXCL keeps others from opening the port, but not the superuser, and not
  // those who have opened it already; the lock tells those apart that ask for it.
  if (flock(line, LOCK_EX | LOCK_NB) != 0) return failure_of(errno);
  if (ioctl(line, TIOCEXCL) != 0) return failure_of(errno);
  return std::nullopt;
}

}  // namespace

Result<int, LineFailure> open_line(const std::string& path, const fleet::SerialEndpoint& settings) {
  const int line = open(path.c_str(), O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
  if (line < 0) return Failure{failure_of(errno)};
  std::optional<LineFailure> failure;
  if (isatty(line) == 0) failure = failure_of(errno == EINVAL ? ENOTTY : errno);
  if (!failure) failure = take_alone(line);
  if (!failure) failure = configure(line, settings);
  if (failure) {
    close(line);
    return Failure{*failure};
  }
  ask_for_low_latency(line);
  return line;
}

std::optional<std::uint32_t> lost_octets(int descriptor) {
  serial_icounter_struct count{};
  if (ioctl(descriptor, TIOCGICOUNT, &count) != 0) return std::nullopt;
  return static_cast<std::uint32_t>(count.overrun) + static_cast<std::uint32_t>(count.buf_overrun);
}

}  // namespace fieldfare::source
