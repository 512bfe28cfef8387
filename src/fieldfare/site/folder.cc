// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/folder.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <filesystem>
#include <system_error>
#include <utility>
#include <vector>

#include "fieldfare/site/internal/tree.h"

namespace fieldfare::site {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostSheets = 1000;

/// An open file, closed at the end of its life.
class OpenFile {
 public:
  // Without O_NONBLOCK, opening a pipe would wait for its other end.
  explicit OpenFile(const std::string& path)
      : handle_{::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC)} {}
  ~OpenFile() {
    if (handle_ >= 0) ::close(handle_);
  }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;

  int handle() const { return handle_; }

  bool is_regular() const {
    struct stat status {};
    return ::fstat(handle_, &status) == 0 && S_ISREG(status.st_mode);
  }

 private:
  int handle_;
};

Complaint system_complaint(const std::string& path, int code) {
  return {{path, 0, 0}, std::generic_category().message(code), ""};
}

Result<std::string, Complaint> read_text(const std::string& path) {
  const OpenFile file{path};
  if (file.handle() < 0) return Failure{system_complaint(path, errno)};
  if (!file.is_regular()) {
    return Failure{Complaint{{path, 0, 0}, "not a regular file", "expected a TOML file"}};
  }
  std::string text;
  std::array<char, 1U << 16U> buffer{};
  while (true) {
    const ssize_t got = ::read(file.handle(), buffer.data(), buffer.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return Failure{system_complaint(path, errno)};
    if (got == 0) return text;
    text.append(buffer.data(), static_cast<std::size_t>(got));
    if (text.size() > kMostBytes) {
      return Failure{Complaint{{path, 0, 0},
                               "the file is too long",
                               "expected at most " + std::to_string(kMostBytes) + " bytes"}};
    }
  }
}

/// Names of the sheet files in a folder, in order. None where there is no folder.
Result<std::vector<std::string>, Complaint> list_sheets(const std::string& folder) {
  std::vector<std::string> names;
  std::error_code fault;
  fs::directory_iterator entries{folder, fault};
  if (fault == std::errc::no_such_file_or_directory) return names;
  for (; !fault && entries != fs::directory_iterator{}; entries.increment(fault)) {
    const std::string name = entries->path().filename().string();
    // Editors leave hidden files beside the one they edit.
    if (!name.ends_with(".toml") || name.starts_with('.')) continue;
    names.push_back(name);
    if (names.size() > kMostSheets) {
      return Failure{Complaint{
          {folder, 0, 0}, "too many sheets", "expected at most " + std::to_string(kMostSheets)}};
    }
  }
  if (fault) return Failure{Complaint{{folder, 0, 0}, fault.message(), ""}};
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace

Result<SiteFiles, Complaint> read_site_folder(const std::string& folder) {
  std::error_code fault;
  if (!fs::is_directory(folder, fault)) {
    return Failure{Complaint{{folder, 0, 0},
                             fs::exists(folder, fault) ? "not a folder" : "there is no such folder",
                             "expected a site folder, as `fieldfare new` makes one"}};
  }
  SiteFiles files;
  files.folder = folder;
  auto site_toml = read_text((fs::path{folder} / "site.toml").string());
  if (!site_toml) return Failure{site_toml.error()};
  files.site_toml = *std::move(site_toml);

  const auto names = list_sheets((fs::path{folder} / "sheets").string());
  if (!names) return Failure{names.error()};
  for (const std::string& name : *names) {
    auto text = read_text((fs::path{folder} / "sheets" / name).string());
    if (!text) return Failure{text.error()};
    files.sheets.push_back({"sheets/" + name, *std::move(text)});
  }
  return files;
}

}  // namespace fieldfare::site
