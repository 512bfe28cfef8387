// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/mqtt_secret.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <charconv>
#include <filesystem>
#include <optional>
#include <string_view>
#include <system_error>

namespace fieldfare::source::mqtt {
namespace {

constexpr std::string_view kDescriptor = "fd:";

std::string in_words(int error) { return std::generic_category().message(error); }

Result<Secret, std::string> first_line(int descriptor, const std::string& name) {
  Secret secret;
  std::array<char, 4096> piece{};
  for (;;) {
    const ssize_t size = ::read(descriptor, piece.data(), piece.size());
    if (size < 0 && errno == EINTR) continue;
    if (size < 0)
      return Failure{"the password can't be read from " + name + ": " + in_words(errno)};
    secret.text.append(piece.data(), static_cast<std::size_t>(size));
    if (size == 0 || secret.text.find('\n') != std::string::npos) break;
    if (secret.text.size() > kLongestSecret) break;
  }
  secret.text.resize(std::min(secret.text.find('\n'), secret.text.size()));
  if (secret.text.ends_with('\r')) secret.text.pop_back();
  if (secret.text.empty()) return Failure{"the first line of " + name + " holds no password"};
  if (secret.text.size() > kLongestSecret) {
    return Failure{"the first line of " + name + " is too long for a password"};
  }
  return secret;
}

/// Nothing where `path` is the name of a file.
std::optional<int> descriptor_of(const std::string& path) {
  if (!path.starts_with(kDescriptor)) return std::nullopt;
  int number = -1;
  const char* const end = path.data() + path.size();
  const auto [rest, error] = std::from_chars(path.data() + kDescriptor.size(), end, number);
  return error == std::errc{} && rest == end ? number : -1;
}

}  // namespace

std::string within(const std::string& folder, const std::string& name) {
  return folder.empty() ? name : (std::filesystem::path{folder} / name).string();
}

Result<Secret, std::string> read_secret(const std::string& path) {
  if (const auto descriptor = descriptor_of(path)) {
    return first_line(*descriptor, "descriptor " + path.substr(kDescriptor.size()));
  }
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0)
    return Failure{"the password file " + path + " can't be opened: " + in_words(errno)};
  auto secret = first_line(file, path);
  struct stat status {};
  if (secret && ::fstat(file, &status) == 0 && (status.st_mode & (S_IRGRP | S_IROTH)) != 0) {
    secret->note = "others can read the password file: chmod 600 " + path;
  }
  ::close(file);
  return secret;
}

}  // namespace fieldfare::source::mqtt
