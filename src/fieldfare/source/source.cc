// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/source.h"

#include <utility>

#include "fieldfare/source/internal/file_source.h"
#include "fieldfare/source/internal/mqtt_source.h"
#include "fieldfare/source/internal/pipe_source.h"
#include "fieldfare/source/internal/serial_source.h"
#include "fieldfare/source/internal/udp_source.h"

namespace fieldfare::source {
namespace {

/// Chooses by the endpoint's kind.
struct Maker {
  Setting setting;
  Loop& loop;
  Sink& sink;

  using Made = std::unique_ptr<Source>;
  Made operator()(const fleet::SerialEndpoint& endpoint) {
    return make_serial_source(endpoint, std::move(setting), loop, sink);
  }
  Made operator()(const fleet::UdpEndpoint& endpoint) {
    return make_udp_source(endpoint, std::move(setting), loop, sink);
  }
  Made operator()(const fleet::MqttEndpoint& endpoint) {
    return make_mqtt_source(endpoint, std::move(setting), loop, sink);
  }
  Made operator()(const fleet::FileEndpoint& endpoint) {
    return make_file_source(endpoint, std::move(setting), loop, sink);
  }
  Made operator()(const fleet::PipeEndpoint& endpoint) {
    return make_pipe_source(endpoint, std::move(setting), loop, sink);
  }
};

}  // namespace

std::unique_ptr<Source> open_source(const fleet::Endpoint& endpoint, Setting setting, Loop& loop,
                                    Sink& sink) {
  return std::visit(Maker{std::move(setting), loop, sink}, endpoint);
}

}  // namespace fieldfare::source
