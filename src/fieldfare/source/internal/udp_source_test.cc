// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/udp_source.h"

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstring>

#include "fieldfare/source/internal/test_recorder.h"

namespace fieldfare::source {
namespace {

using test::serve_until;

/// A socket of the loopback that sends; port() is one that was free.
class Sender {
 public:
  explicit Sender(int family) : family_{family}, socket_{socket(family, SOCK_DGRAM, 0)} {
    // A port is free that the system just gave away and took back.
    const int probe = socket(family, SOCK_DGRAM, 0);
    sockaddr_storage address = loopback(0);
    socklen_t size = sizeof address;
    usable_ = bind(probe, reinterpret_cast<sockaddr*>(&address), length()) == 0 &&
              getsockname(probe, reinterpret_cast<sockaddr*>(&address), &size) == 0;
    port_ = ntohs(family == AF_INET ? reinterpret_cast<sockaddr_in*>(&address)->sin_port
                                    : reinterpret_cast<sockaddr_in6*>(&address)->sin6_port);
    close(probe);
  }
  ~Sender() { close(socket_); }
  Sender(const Sender&) = delete;
  Sender& operator=(const Sender&) = delete;

  bool usable() const { return usable_; }
  std::uint16_t port() const { return port_; }
  void send(const std::string& datagram) const {
    const sockaddr_storage address = loopback(port_);
    ASSERT_EQ(sendto(socket_, datagram.data(), datagram.size(), 0,
                     reinterpret_cast<const sockaddr*>(&address), length()),
              static_cast<ssize_t>(datagram.size()));
  }

 private:
  socklen_t length() const {
    return family_ == AF_INET ? sizeof(sockaddr_in) : sizeof(sockaddr_in6);
  }
  sockaddr_storage loopback(std::uint16_t port) const {
    sockaddr_storage out{};
    if (family_ == AF_INET) {
      sockaddr_in v4{};
      v4.sin_family = AF_INET;
      v4.sin_port = htons(port);
      v4.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
      std::memcpy(&out, &v4, sizeof v4);
    } else {
      sockaddr_in6 v6{};
      v6.sin6_family = AF_INET6;
      v6.sin6_port = htons(port);
      v6.sin6_addr = in6addr_loopback;
      std::memcpy(&out, &v6, sizeof v6);
    }
    return out;
  }

  int family_;
  int socket_;
  bool usable_ = false;
  std::uint16_t port_ = 0;
};

class UdpSourceTest : public testing::Test {
 protected:
  void listen(const std::string& host, std::uint16_t port) {
    source_ = make_udp_source({host, port}, test::setting(), loop_, heard_);
    source_->start();
  }

  Loop loop_;
  test::Recorder heard_;
  std::unique_ptr<Source> source_;
};

TEST_F(UdpSourceTest, ADatagramIsAWholeMessage) {
  const Sender sender{AF_INET};
  listen("127.0.0.1", sender.port());
  ASSERT_TRUE(heard_.is(Condition::up)) << heard_.changes[0].what;
  const std::string longest(65'507, 'x');  // what IPv4's length field leaves of it
  for (const std::string& datagram : {std::string{"one"}, std::string{}, longest}) {
    sender.send(datagram);
  }
  ASSERT_TRUE(serve_until(loop_, [&] { return heard_.pieces.size() == 3; }));
  EXPECT_EQ(heard_.pieces[0].octets, "one");
  EXPECT_EQ(heard_.pieces[1].octets, "");
  EXPECT_EQ(heard_.pieces[2].octets, longest);
  for (const auto& piece : heard_.pieces) EXPECT_TRUE(piece.whole);
  EXPECT_EQ(heard_.pieces[2].ticket, 3u);
}

TEST_F(UdpSourceTest, TheSixthVersionIsHeardAndTakesTheFourthAlong) {
  const Sender v6{AF_INET6};
  if (!v6.usable()) GTEST_SKIP() << "this machine has no IPv6";
  listen("::1", v6.port());
  v6.send("six");
  ASSERT_TRUE(serve_until(loop_, [&] { return heard_.all() == "six"; }));
  const Sender v4{AF_INET};
  listen("::", v4.port());
  v4.send("four");
  EXPECT_TRUE(serve_until(loop_, [&] { return heard_.all() == "sixfour"; }));
}

TEST_F(UdpSourceTest, AnAddressInUseIsToldAndTakenWhenItIsFree) {
  const Sender sender{AF_INET};
  test::Recorder other;
  auto first = make_udp_source({"127.0.0.1", sender.port()}, test::setting(), loop_, other);
  first->start();
  listen("127.0.0.1", sender.port());
  ASSERT_EQ(heard_.changes.size(), 1u);
  EXPECT_EQ(heard_.changes[0].what,
            "another program takes what comes to udp://127.0.0.1:" + std::to_string(sender.port()));
  EXPECT_NE(heard_.changes[0].remedy.find("ss -lunp"), std::string::npos);
  first->stop();
  EXPECT_TRUE(serve_until(loop_, [&] { return heard_.is(Condition::up); }));
}

TEST_F(UdpSourceTest, AnAddressThatTheMachineHasNotIsToldWithARemedy) {
  listen("192.0.2.1", 5005);  // RFC 5737: of no machine
  ASSERT_EQ(heard_.changes.size(), 1u);
  EXPECT_EQ(heard_.changes[0].condition, Condition::down);
  EXPECT_EQ(heard_.changes[0].what, "this machine has no address 192.0.2.1");
  EXPECT_NE(heard_.changes[0].remedy.find("0.0.0.0"), std::string::npos);
}

TEST_F(UdpSourceTest, WhatTheSystemDropsIsCounted) {
  const Sender sender{AF_INET};
  listen("127.0.0.1", sender.port());
  source_->pause();
  test::serve_what_is_due(loop_);
  // More than any buffer we ask for: 12 MB.
  constexpr std::size_t kSent = 12'000;
  const std::string datagram(1'000, 'x');
  for (std::size_t i = 0; i < kSent; ++i) sender.send(datagram);
  source_->resume();
  test::serve_what_is_due(loop_);
  const std::size_t kept = heard_.pieces.size();
  ASSERT_LT(kept, kSent);
  sender.send("last");
  ASSERT_TRUE(serve_until(loop_, [&] { return heard_.pieces.back().octets == "last"; }));
  ASSERT_EQ(heard_.overruns.size(), 1u);
  EXPECT_NE(heard_.overruns[0].find("lost " + std::to_string(kSent - kept) + " datagrams"),
            std::string::npos)
      << heard_.overruns[0] << " kept " << kept;
}

}  // namespace
}  // namespace fieldfare::source
