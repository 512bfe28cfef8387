// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "fieldfare/wire/body_codec.h"

namespace fieldfare::wire {

std::unique_ptr<BodyCodec> make_binary_codec(const fleet::FrameFacts& frame);
std::unique_ptr<BodyCodec> make_text_codec(const fleet::FrameFacts& frame);
/// JSON and CBOR, by pointers.
std::unique_ptr<BodyCodec> make_tree_codec(const fleet::FrameFacts& frame);
/// SenML packs, in JSON and CBOR.
std::unique_ptr<BodyCodec> make_senml_codec(const fleet::FrameFacts& frame);

}  // namespace fieldfare::wire
