// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "fieldfare/fleet/endpoint.h"
#include "fieldfare/source/source.h"

namespace fieldfare::source {

/// Listens to topics of an MQTT broker: one arrival a message.
///
/// With QoS 1 a message is acknowledged when its ticket was settled, so the
/// broker keeps it until it is on disk here; while we are away, too, as the
/// session outlives the connection. What comes again is left out (see
/// internal/mqtt_repeats.h); retained messages are as well.
std::unique_ptr<Source> make_mqtt_source(const fleet::MqttEndpoint& endpoint, Setting setting,
                                         Loop& loop, Sink& sink);

}  // namespace fieldfare::source
