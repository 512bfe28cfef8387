// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <condition_variable>
#include <csignal>
#include <cstdint>
#include <cstdlib>
#include <deque>
#include <filesystem>
#include <fstream>
#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <thread>
#include <utility>
#include <variant>

#include "fieldfare/source/mqtt_packets.h"

// For tests only: a real broker on a port of its own, and one who publishes.
namespace fieldfare::source::test {

/// A folder of its own, gone with its owner.
class TestFolder {
 public:
  TestFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "fieldfare-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error{"no folder for a test"};
    path_ = name;
  }
  ~TestFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TestFolder(const TestFolder&) = delete;
  TestFolder& operator=(const TestFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }
  std::string file(const std::string& name) const { return (path_ / name).string(); }
  /// Writes a file into it; returns its path.
  std::string write(const std::string& name, std::string_view text) const {
    std::ofstream{path_ / name, std::ios::binary} << text;
    return file(name);
  }

 private:
  std::filesystem::path path_;
};

/// A port of 127.0.0.1 that was free a moment ago.
inline std::uint16_t free_port() {
  const int probe = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof address;
  const bool good = ::bind(probe, reinterpret_cast<sockaddr*>(&address), size) == 0 &&
                    ::getsockname(probe, reinterpret_cast<sockaddr*>(&address), &size) == 0;
  ::close(probe);
  if (!good) throw std::runtime_error{"no free port for a test"};
  return ntohs(address.sin_port);
}

/// A connection to a port of this machine, or -1.
inline int connect_to(std::uint16_t port) {
  const int made = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  address.sin_port = htons(port);
  if (::connect(made, reinterpret_cast<sockaddr*>(&address), sizeof address) != 0) {
    ::close(made);
    return -1;
  }
  const int on = 1;
  ::setsockopt(made, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  return made;
}

/// mosquitto with a configuration of its own, on a private port of 127.0.0.1. It
/// keeps sessions on disk, so that they outlive stop() and start().
class TestBroker {
 public:
  /// Whether mosquitto is there at all; a test without it is to be skipped.
  static bool is_installed() { return !program().empty(); }

  /// `more`: lines for its configuration; without `allow_anonymous` in them all
  /// are let in. They may stand for the listener, which is opened before.
  explicit TestBroker(std::string more = "") : port_{free_port()}, more_{std::move(more)} {}
  ~TestBroker() { stop(SIGKILL); }
  TestBroker(const TestBroker&) = delete;
  TestBroker& operator=(const TestBroker&) = delete;

  std::uint16_t port() const { return port_; }
  const TestFolder& folder() const { return folder_; }

  /// Returns when it takes connections.
  void start() {
    const std::string configuration = write_configuration();
    const std::string path = program();
    pid_ = ::fork();
    if (pid_ == 0) {
      ::execl(path.c_str(), path.c_str(), "-c", configuration.c_str(), nullptr);
      ::_exit(127);
    }
    for (int i = 0; i < 500; ++i) {
      const int probe = connect_to(port_);
      if (probe >= 0) {
        ::close(probe);
        return;
      }
      std::this_thread::sleep_for(std::chrono::milliseconds{20});
    }
    throw std::runtime_error{"the broker did not start: see " + folder_.file("broker.log")};
  }

  /// SIGTERM lets it write its sessions to disk; SIGKILL is a power cut.
  void stop(int signal = SIGTERM) {
    if (pid_ <= 0) return;
    ::kill(pid_, signal);
    ::waitpid(pid_, nullptr, 0);
    pid_ = -1;
  }

  std::string log() const {
    std::ifstream file{folder_.file("broker.log")};
    return {std::istreambuf_iterator<char>{file}, {}};
  }

 private:
  static std::string program() {
    for (const char* path :
         {"/usr/sbin/mosquitto", "/usr/local/sbin/mosquitto", "/usr/bin/mosquitto"}) {
      if (::access(path, X_OK) == 0) return path;
    }
    return "";
  }

  std::string write_configuration() const {
    std::string text = "per_listener_settings false\n";
    if (::geteuid() == 0) text += "user root\n";
    text += "persistence true\npersistence_location " + folder_.path().string() + "/\n";
    // Its own limit of 1000 waiting messages would lose what tests count on.
    text += "max_queued_messages 0\n";
    text += "log_dest file " + folder_.file("broker.log") + "\nlog_type all\n";
    text += "listener " + std::to_string(port_) + " 127.0.0.1\n";
    if (more_.find("allow_anonymous") == std::string::npos) text += "allow_anonymous true\n";
    return folder_.write("mosquitto.conf", text + more_ + "\n");
  }

  TestFolder folder_;
  std::uint16_t port_;
  std::string more_;
  pid_t pid_ = -1;
};

/// Publishes with QoS 1 on a thread of its own, and again what the broker gave no
/// answer for, over as many connections as it takes.
class TestPublisher {
 public:
  /// Messages that are sent before the first of them is answered.
  static constexpr std::size_t kWindow = 20;

  explicit TestPublisher(std::uint16_t port, std::string client_id = "publisher")
      : port_{port}, client_id_{std::move(client_id)}, thread_{[this] { run(); }} {}
  ~TestPublisher() {
    ending_ = true;
    thread_.join();
  }
  TestPublisher(const TestPublisher&) = delete;
  TestPublisher& operator=(const TestPublisher&) = delete;

  void publish(std::string topic, std::string payload, bool retain = false) {
    const std::lock_guard lock{mutex_};
    waiting_.push_back(
        {.topic = std::move(topic), .payload = std::move(payload), .retain = retain});
  }

  /// Whether all that was given was answered within this time.
  bool settled_within(std::chrono::milliseconds time) {
    std::unique_lock lock{mutex_};
    return all_answered_.wait_for(lock, time, [&] { return waiting_.empty() && open_.empty(); });
  }

 private:
  struct Message {
    std::string topic;
    std::string payload;
    bool retain = false;
    bool sent = false;  ///< once already
  };

  void run() {
    while (!ending_) {
      const int connection = connect_to(port_);
      if (connection >= 0) {
        talk(connection);
        ::close(connection);
      }
      std::this_thread::sleep_for(std::chrono::milliseconds{50});
    }
  }

  /// Until the connection breaks or the end.
  void talk(int connection) {
    using namespace mqtt;
    PacketReader reader{Version::v3_1_1};
    Octets output;
    append_connect(output, {.version = Version::v3_1_1,
                            .client_id = client_id_,
                            .user = {},
                            .password = {},
                            .clean = true,
                            .keep_alive_s = 60});
    bool connected = false;
    resend_from_ = 0;
    while (!ending_) {
      if (connected) append_next(output);
      if (!send_all(connection, output)) return;
      output.clear();
      pollfd wait{.fd = connection, .events = POLLIN, .revents = 0};
      ::poll(&wait, 1, 2);
      if (wait.revents == 0) continue;
      std::array<std::uint8_t, 4096> piece{};
      const ssize_t size = ::recv(connection, piece.data(), piece.size(), 0);
      if (size <= 0) return;
      reader.feed({piece.data(), static_cast<std::size_t>(size)}, [&](const Packet& packet) {
        if (const auto* ack = std::get_if<ConnAck>(&packet)) connected = ack->code == 0;
        if (const auto* ack = std::get_if<PubAck>(&packet)) answered(ack->id);
        return true;
      });
    }
    append_disconnect(output, 0, Version::v3_1_1);
    send_all(connection, output);
  }

  /// First what is open from an earlier connection, then what is new.
  void append_next(mqtt::Octets& output) {
    const std::lock_guard lock{mutex_};
    for (auto& [order, open] : open_) {
      if (order < resend_from_) continue;
      append(output, open.first, open.second);
      resend_from_ = order + 1;
    }
    while (!waiting_.empty() && open_.size() < kWindow) {
      next_id_ = next_id_ == 65'535 ? std::uint16_t{1} : static_cast<std::uint16_t>(next_id_ + 1);
      auto& open = open_[next_order_++];
      open = {next_id_, std::move(waiting_.front())};
      waiting_.pop_front();
      append(output, open.first, open.second);
      resend_from_ = next_order_;
    }
  }

  static void append(mqtt::Octets& output, std::uint16_t id, Message& message) {
    mqtt::append_publish(output,
                         {.topic = message.topic,
                          .payload = {reinterpret_cast<const std::uint8_t*>(message.payload.data()),
                                      message.payload.size()},
                          .qos = 1,
                          .dup = std::exchange(message.sent, true),
                          .retain = message.retain,
                          .id = id},
                         mqtt::Version::v3_1_1);
  }

  void answered(std::uint16_t id) {
    const std::lock_guard lock{mutex_};
    std::erase_if(open_, [&](const auto& open) { return open.second.first == id; });
    if (waiting_.empty() && open_.empty()) all_answered_.notify_all();
  }

  static bool send_all(int connection, const mqtt::Octets& octets) {
    std::size_t sent = 0;
    while (sent < octets.size()) {
      const ssize_t size =
          ::send(connection, octets.data() + sent, octets.size() - sent, MSG_NOSIGNAL);
      if (size <= 0) return false;
      sent += static_cast<std::size_t>(size);
    }
    return true;
  }

  std::uint16_t port_;
  std::string client_id_;
  std::atomic<bool> ending_ = false;
  std::mutex mutex_;
  std::condition_variable all_answered_;
  std::deque<Message> waiting_;
  std::map<std::uint64_t, std::pair<std::uint16_t, Message>> open_;  ///< in the order of sending
  std::uint64_t next_order_ = 0;
  std::uint64_t resend_from_ = 0;
  std::uint16_t next_id_ = 0;
  std::thread thread_;  // last: it uses all the others
};

}  // namespace fieldfare::source::test
