// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/udp_source.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "fieldfare/source/internal/readable.h"
#include "fieldfare/source/internal/reader.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source {
namespace {

// Some seconds of a busy gateway, while the disk or the processor is away. The
// system grants less where its limit (net.core.rmem_max) is lower.
constexpr int kReceiveBuffer = 4 << 20;
constexpr std::size_t kLongestDatagram = 65'535;  // the length field has 16 bits, RFC 768
constexpr int kDatagramsInARow = 64;

struct SocketAddress {
  sockaddr_storage storage{};
  socklen_t size = 0;

  const sockaddr* get() const { return reinterpret_cast<const sockaddr*>(&storage); }
};

SocketAddress address_of(const fleet::UdpEndpoint& endpoint) {
  SocketAddress out;
  sockaddr_in v4{};
  sockaddr_in6 v6{};
  if (inet_pton(AF_INET, endpoint.host.c_str(), &v4.sin_addr) == 1) {
    v4.sin_family = AF_INET;
    v4.sin_port = htons(endpoint.port);
    std::memcpy(&out.storage, &v4, out.size = sizeof v4);
  } else if (inet_pton(AF_INET6, endpoint.host.c_str(), &v6.sin6_addr) == 1) {
    v6.sin6_family = AF_INET6;
    v6.sin6_port = htons(endpoint.port);
    std::memcpy(&out.storage, &v6, out.size = sizeof v6);
  }
  return out;
}

void set_option(int socket, int level, int option, int value) {
  (void)setsockopt(socket, level, option, &value, sizeof value);
}

/// A bound socket, or -1 with errno.
int open_socket(const SocketAddress& address) {
  if (address.size == 0) {
    errno = EADDRNOTAVAIL;
    return -1;
  }
  const int out =
      socket(address.storage.ss_family, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, IPPROTO_UDP);
  if (out < 0) return -1;
  if (address.storage.ss_family == AF_INET6) set_option(out, IPPROTO_IPV6, IPV6_V6ONLY, 0);
  set_option(out, SOL_SOCKET, SO_RXQ_OVFL, 1);
  set_option(out, SOL_SOCKET, SO_RCVBUF, kReceiveBuffer);
  set_option(out, SOL_SOCKET, SO_RCVBUFFORCE, kReceiveBuffer);  // past the limit, where we may
  if (bind(out, address.get(), address.size) == 0) return out;
  const int error = errno;
  close(out);
  errno = error;
  return -1;
}

class UdpSource : public Reader {
 public:
  UdpSource(fleet::UdpEndpoint endpoint, Setting setting, Loop& loop, Sink& sink)
      : Reader{std::move(setting), loop, sink},
        endpoint_{std::move(endpoint)},
        name_{wire::excerpt(fleet::text_of(endpoint_))},
        socket_{loop},
        datagram_(kLongestDatagram) {}

 protected:
  void open() override {
    const int socket = open_socket(address_of(endpoint_));
    if (socket < 0 || !socket_.adopt(socket)) return fail(errno);
    dropped_ = 0;
    up("listening to " + name_);
    go_on();
  }

  void close() override { socket_.close(); }

  void go_on() override {
    for (int i = 0; i < kDatagramsInARow; ++i) {
      if (paused() || !socket_.is_open()) return;
      const ssize_t size = receive();
      if (size >= 0) {
        hand_over({datagram_.data(), static_cast<std::size_t>(size)}, true, 0);
      } else if (errno == EAGAIN) {
        return socket_.wait(shared_from_this(), [this] { go_on(); });
      } else if (errno != EINTR) {
        const int error = errno;
        socket_.close();
        return fail(error);
      }
    }
    go_on_later();
  }

 private:
  /// Size of the next datagram, or -1 with errno. Tells of those that were dropped
  /// before it: the system counts them for us, and says so with the next.
  ssize_t receive() {
    iovec where{datagram_.data(), datagram_.size()};
    alignas(cmsghdr) unsigned char control[CMSG_SPACE(sizeof(std::uint32_t))];
    msghdr message{};
    message.msg_iov = &where;
    message.msg_iovlen = 1;
    message.msg_control = control;
    message.msg_controllen = sizeof control;
    const ssize_t size = recvmsg(socket_.descriptor(), &message, 0);
    if (size < 0) return size;
    const cmsghdr* const part = CMSG_FIRSTHDR(&message);
    if (part && part->cmsg_level == SOL_SOCKET && part->cmsg_type == SO_RXQ_OVFL) {
      std::uint32_t dropped = 0;
      std::memcpy(&dropped, CMSG_DATA(part), sizeof dropped);
      tell_drops(dropped);
    }
    return size;
  }

  void tell_drops(std::uint32_t dropped) {
    const std::uint32_t more = dropped - dropped_;
    dropped_ = dropped;
    if (more == 0) return;
    overrun(name_ + " lost " + std::to_string(more) + (more == 1 ? " datagram" : " datagrams") +
            ": the system's buffer was full");
  }

  void fail(int error) {
    const std::string port = std::to_string(endpoint_.port);
    switch (error) {
      case EADDRINUSE:
        down("another program takes what comes to " + name_,
             "end that program (`ss -lunp` names it), or choose another port here and where the "
             "datagrams come from");
        break;
      case EADDRNOTAVAIL:
      case EAFNOSUPPORT:
        down("this machine has no address " + wire::excerpt(endpoint_.host),
             "choose one that `ip address` lists, or `0.0.0.0` or `[::]` for all of them");
        break;
      case EACCES:
        down("no rights to listen to port " + port,
             "choose a port from 1024 on, here and where the datagrams come from");
        break;
      default:
        down("can't listen to " + name_ + ": " + std::generic_category().message(error), {});
    }
    try_again();
  }

  fleet::UdpEndpoint endpoint_;
  std::string name_;
  Readable socket_;
  std::vector<std::uint8_t> datagram_;
  std::uint32_t dropped_ = 0;
};

}  // namespace

std::unique_ptr<Source> make_udp_source(const fleet::UdpEndpoint& endpoint, Setting setting,
                                        Loop& loop, Sink& sink) {
  return held(std::make_shared<UdpSource>(endpoint, std::move(setting), loop, sink));
}

}  // namespace fieldfare::source
