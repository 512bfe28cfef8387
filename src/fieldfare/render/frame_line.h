// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "fieldfare/fleet/frame.h"

namespace fieldfare::render {

/// A frame in one line: `hdlc, crc-16/ibm-sdlc, address at 0, counter at 8, 3 readings`.
std::string frame_line(const fleet::FrameFacts& frame);

}  // namespace fieldfare::render
