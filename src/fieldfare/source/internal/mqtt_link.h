// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "fieldfare/fleet/endpoint.h"
#include "fieldfare/source/internal/asio.h"
#include "fieldfare/source/internal/mqtt_session.h"

namespace fieldfare::source::mqtt {

/// One connection to a broker, over TCP or TLS. All of it on the loop's thread.
/// Whoever gives handlers keeps the link alive until they were called, which
/// close() makes happen soon. Never used again after close().
class Link {
 public:
  /// Names of files in `endpoint` are absolute or relative to the working folder.
  Link(const fleet::MqttEndpoint& endpoint, asio::io_context& io);
  ~Link();
  Link(const Link&) = delete;
  Link& operator=(const Link&) = delete;

  /// Finds the host, connects, and shakes hands where TLS is asked for.
  void open(const std::function<void(std::optional<Trouble>)>& done);
  void read_some(std::span<std::uint8_t> into,
                 std::function<void(const std::error_code&, std::size_t)> done);
  void write(std::span<const std::uint8_t> octets,
             std::function<void(const std::error_code&)> done);
  /// As much as can be sent without waiting.
  void write_now(std::span<const std::uint8_t> octets);
  void close();

  /// What an error of reading or writing means.
  static Trouble trouble_of(const std::error_code& error);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::source::mqtt
