// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/learn_words.h"

#include <fmt/format.h>

#include "fieldfare/render/words.h"

namespace fieldfare::render::internal {

std::string_view sureness_word(learn::Sureness sureness) {
  switch (sureness) {
    case learn::Sureness::certain:
      return "certain";
    case learn::Sureness::likely:
      return "likely";
    case learn::Sureness::guess:
      return "guess";
    case learn::Sureness::open:
      return "open";
  }
  return "";
}

std::string hex_pairs(const fleet::Octets& octets) {
  return fmt::format("{:02X}", fmt::join(octets, " "));
}

std::string learnt_words(const learn::Learnt& learnt) {
  if (!learnt.frame) return "No frames could be told in these bytes.";
  std::string words = fmt::format("Learnt from {} of {}; {} of them {} to all that was found.",
                                  counted(learnt.frames, "frame", "frames"),
                                  counted(learnt.nodes.size(), "node", "nodes"),
                                  count_words(learnt.sound), learnt.sound == 1 ? "holds" : "hold");
  if (learnt.opaque_body) {
    words += " What the frames carry looks enciphered: no reading can be told from it.";
  }
  return words;
}

}  // namespace fieldfare::render::internal
