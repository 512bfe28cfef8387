// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/site_folder.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <system_error>

#include "fieldfare/site/folder.h"
#include "fieldfare/site/starter.h"

namespace fieldfare::app {
namespace {

namespace fs = std::filesystem;

Complaint about(const fs::path& path, std::string what, std::string expected) {
  return {{path.string(), 0, 0}, std::move(what), std::move(expected)};
}

std::string words_of(int code) { return std::generic_category().message(code); }

/// Writes a file that doesn't exist yet; the number of an error, 0 for none.
int write_new_file(const fs::path& path, std::string_view text) {
  const int file = ::open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (file < 0) return errno;
  int fault = 0;
  while (!text.empty() && fault == 0) {
    const auto written = ::write(file, text.data(), text.size());
    if (written >= 0) {
      text.remove_prefix(static_cast<std::size_t>(written));
    } else if (errno != EINTR) {
      fault = errno;
    }
  }
  if (::close(file) != 0 && fault == 0) fault = errno;
  return fault;
}

/// Nothing where a site can begin there.
std::optional<Complaint> why_not_here(const fs::path& folder) {
  std::error_code fault;
  const fs::file_status status = fs::status(folder, fault);
  if (!fs::exists(status)) return std::nullopt;
  if (!fs::is_directory(status)) {
    return about(folder, "exists and is no folder", "a name that is not in use");
  }
  if (!fs::is_empty(folder, fault) && !fault) {
    return about(folder, "exists and is not empty", "a name that is not in use");
  }
  return std::nullopt;
}

std::string name_of_folder(const std::string& folder) {
  std::error_code fault;
  fs::path path = fs::absolute(folder, fault).lexically_normal();
  if (!path.has_filename()) path = path.parent_path();
  return path.filename().string();
}

}  // namespace

Result<site::LoadedSite, Trouble> open_site(const std::string& folder) {
  auto files = site::read_site_folder(folder);
  if (!files) return input_trouble(files.error());
  auto loaded = site::load_site(*files);
  if (!loaded) return Failure{Trouble{Blame::input, loaded.error()}};
  return std::move(*loaded);
}

Result<SiteCheck, Trouble> check_site(const std::string& folder) {
  auto files = site::read_site_folder(folder);
  if (!files) return input_trouble(files.error());
  const auto loaded = site::load_site(*files);
  if (!loaded) return SiteCheck{false, "", loaded.error(), {}};
  return SiteCheck{true, loaded->site.name, {}, loaded->warnings};
}

Result<Done, Trouble> write_folder(const std::string& folder_name,
                                   const std::vector<site::NamedText>& files) {
  const fs::path folder{folder_name};
  if (auto complaint = why_not_here(folder)) return input_trouble(std::move(*complaint));
  for (const site::NamedText& file : files) {
    const fs::path path = folder / file.name;
    std::error_code fault;
    fs::create_directories(path.parent_path(), fault);
    const int code = fault ? fault.value() : write_new_file(path, file.text);
    if (code != 0) return machine_trouble(about(path, words_of(code), "a folder to write in"));
  }
  return Done{};
}

Result<Done, Trouble> write_file(const std::string& path, std::string_view text) {
  const int code = write_new_file(path, text);
  if (code != 0) {
    return machine_trouble(about(path, words_of(code),
                                 "a name that is not in use, where files "
                                 "can be written"));
  }
  return Done{};
}

Result<Done, Trouble> replace_file(const std::string& path, const std::string& expected,
                                   const std::string& text) {
  std::ifstream in{path, std::ios::binary};
  const std::string held{std::istreambuf_iterator<char>{in}, {}};
  if (!in || held != expected) {
    return input_trouble(about(path, "was changed since it was written, and is left as it is",
                               "the change by hand"));
  }
  const std::string beside = path + ".new";
  std::error_code fault;
  fs::remove(beside, fault);
  int code = write_new_file(beside, text);
  if (code == 0 && std::rename(beside.c_str(), path.c_str()) != 0) code = errno;
  if (code != 0) return machine_trouble(about(path, words_of(code), "a folder to write in"));
  return Done{};
}

Result<std::vector<std::string>, Trouble> new_site(const NewSite& request) {
  const std::string name = request.name.empty() ? name_of_folder(request.folder) : request.name;
  const auto files = request.demo ? site::demo_files() : site::starter_files(name);
  if (auto written = write_folder(request.folder, files); !written) return Failure{written.error()};
  std::vector<std::string> names;
  names.reserve(files.size());
  for (const site::NamedText& file : files) names.push_back(file.name);
  return names;
}

}  // namespace fieldfare::app
