// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "fieldfare/base/result.h"

namespace fieldfare::source::mqtt {

/// MQTT holds no longer one.
inline constexpr std::size_t kLongestSecret = 65'535;

struct Secret {
  std::string text;
  std::string note;  ///< what is to be put right about where it lies; or empty
};

/// `name` within `folder`, where it isn't absolute and a folder is given.
std::string within(const std::string& folder, const std::string& name);

/// The first line of a file, or of an open descriptor where `path` is `fd:N`: a
/// descriptor gives it once only. Fails in words that don't hold the secret.
Result<Secret, std::string> read_secret(const std::string& path);

}  // namespace fieldfare::source::mqtt
