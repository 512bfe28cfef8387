// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/kinds.h"

namespace fieldfare::learn {

std::optional<Explained> learn_tree(const Sample& /*sample*/) { return std::nullopt; }

}  // namespace fieldfare::learn
