// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/terminal.h"

#include <fmt/core.h>
#include <langinfo.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <filesystem>

#include "fieldfare/base/number_text.h"

namespace fieldfare::cli {
namespace {

constexpr std::size_t kUsualWidth = 100;
constexpr std::size_t kLeastWidth = 20;
constexpr std::size_t kMostWidth = 1000;

std::size_t terminal_width() {
  winsize size{};
  if (::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0) return size.ws_col;
  if (const char* columns = std::getenv("COLUMNS")) {
    const auto number = parse_number(columns);
    if (number && *number >= kLeastWidth && *number <= kMostWidth) {
      return static_cast<std::size_t>(*number);
    }
  }
  return kUsualWidth;
}

bool is_set(const char* variable) {
  const char* value = std::getenv(variable);
  return value && *value != '\0';
}

}  // namespace

Instant now() {
  const auto since_1970 = std::chrono::system_clock::now().time_since_epoch();
  return {std::chrono::duration_cast<std::chrono::nanoseconds>(since_1970).count()};
}

render::TextStyle output_style(std::optional<std::size_t> width) {
  const char* terminal = std::getenv("TERM");
  const bool capable = terminal && std::strcmp(terminal, "dumb") != 0;
  render::TextStyle style;
  style.width = std::clamp(width.value_or(terminal_width()), kLeastWidth, kMostWidth);
  style.unicode = std::strcmp(::nl_langinfo(CODESET), "UTF-8") == 0;
  style.emphasis = ::isatty(STDOUT_FILENO) == 1 && capable && !is_set("NO_COLOR");
  return style;
}

Exit print(std::string_view text, Exit answer) {
  errno = 0;
  const bool written =
      std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0;
  if (written || errno == EPIPE) return answer;
  fmt::print(stderr, "standard output: {}\n", std::strerror(errno));
  return Exit::machine;
}

Exit print(const app::Trouble& trouble) {
  for (const Complaint& complaint : trouble.complaints) {
    fmt::print(stderr, "{}\n", render::safe_text(complaint.text(), true));
  }
  return trouble.blame == app::Blame::machine ? Exit::machine : Exit::input;
}

Exit print_usage(std::string_view what) {
  fmt::print(stderr, "fieldfare: {}\n", render::safe_text(what, true));
  return Exit::input;
}

std::string use_time_zone(const std::string& name) {
  std::error_code fault;
  const bool known =
      name.find("..") == std::string::npos &&
      std::filesystem::is_regular_file(std::filesystem::path{"/usr/share/zoneinfo"} / name, fault);
  std::string used = known ? name : "UTC";
  ::setenv("TZ", used.c_str(), 1);
  ::tzset();
  return used;
}

ProgressLine::ProgressLine() : watched_{::isatty(STDERR_FILENO) == 1} {}

ProgressLine::~ProgressLine() {
  if (shown_) fmt::print(stderr, "\r\x1b[K");
}

std::function<void(std::uint64_t rows)> ProgressLine::teller() {
  if (!watched_) return {};
  return [this](std::uint64_t rows) {
    shown_ = true;
    fmt::print(stderr, "\r{} read", render::counted(rows, "row", "rows"));
    std::fflush(stderr);
  };
}

}  // namespace fieldfare::cli
