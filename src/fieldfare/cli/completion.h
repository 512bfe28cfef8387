// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

namespace fieldfare::cli {

struct Verb {
  std::string name;
  std::vector<std::string> options;
};

/// A bash script that completes verbs, options, calculators and file names.
std::string bash_completion(const std::vector<Verb>& verbs);

}  // namespace fieldfare::cli
