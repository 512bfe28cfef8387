// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <memory>

#include "fieldfare/source/source.h"

namespace fieldfare::source {

/// A serial port. One that goes away is taken up again when it comes back: under
/// its name, or, where it is a USB device that is known by its stable name or its
/// serial number, under whatever name it has then. `root` as of list_ports().
std::unique_ptr<Source> make_serial_source(const fleet::SerialEndpoint& endpoint, Setting setting,
                                           Loop& loop, Sink& sink,
                                           const std::filesystem::path& root = "/");

}  // namespace fieldfare::source
