// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <cstdlib>
#include <vector>

#include "fieldfare/wire/body_test_support.h"

namespace fieldfare::fuzz {

/// Ends the program where a report that was decoded can't be encoded again, or
/// decodes to another then. The three codecs are of the same layout: one reads the
/// body, the others write and read each report while its views are in use. Where
/// values `may_not_fit`, a refusal to encode is right, too.
inline void check_body(wire::BodyCodec& codec, wire::BodyCodec& writer, wire::BodyCodec& reader,
                       std::span<const std::uint8_t> body, bool may_not_fit = false) {
  // A copy of its own size, so that the sanitizer sees a look past its end.
  const std::vector<std::uint8_t> copy(body.begin(), body.end());
  wire::test::AgainSink sink{writer, reader};
  if (const auto error = codec.decode(copy, sink)) {
    if (error->offset > body.size()) std::abort();
    return;
  }
  if (!sink.same() && !(may_not_fit && sink.refused())) std::abort();
}

/// A field that may be absent.
inline fleet::FieldLayout maybe(std::string name, fleet::FieldRole role, fleet::FieldPlace place) {
  fleet::FieldLayout layout = wire::test::field(std::move(name), role, std::move(place));
  layout.optional = true;
  return layout;
}

}  // namespace fieldfare::fuzz
