// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "fieldfare/source/ports.h"

namespace fieldfare::source {

/// list_ports() without a look at who holds them, which takes a while.
std::vector<Port> scan_ports(const std::filesystem::path& root);

/// The program that has `device` open, as `name (process 123)`; empty where none
/// has or this user may not see it.
std::string holder_of(const std::filesystem::path& root, const std::string& device);

/// Where `device` lies below `root`.
std::filesystem::path below(const std::filesystem::path& root, const std::string& device);

/// The file that all links lead to; the path itself where that can't be told.
std::filesystem::path real_path(const std::filesystem::path& path);

}  // namespace fieldfare::source
