// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <stdlib.h>

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <functional>
#include <string>
#include <string_view>
#include <system_error>
#include <vector>

#include "fieldfare/source/internal/asio.h"
#include "fieldfare/source/source.h"

// What tests of sources have in common.
namespace fieldfare::source::test {

/// Keeps all that it is told.
class Recorder : public Sink {
 public:
  struct Piece {
    std::string octets;
    bool whole;
    std::uint64_t ticket, mark;
  };

  void take(const Arrival& arrival) override {
    pieces.push_back({std::string{arrival.octets.begin(), arrival.octets.end()}, arrival.whole,
                      arrival.ticket, arrival.mark});
    if (on_take) on_take();
  }
  void change(const Change& change) override { changes.push_back(change); }
  void repeated(Instant, std::size_t) override {}
  void overrun(Instant, const std::string& what) override { overruns.push_back(what); }

  std::string all() const {
    std::string out;
    for (const Piece& piece : pieces) out += piece.octets;
    return out;
  }
  bool tells(Condition condition, std::string_view what) const {
    for (const Change& change : changes) {
      if (change.condition == condition && change.what.find(what) != std::string::npos) return true;
    }
    return false;
  }
  bool is(Condition condition) const {
    return !changes.empty() && changes.back().condition == condition;
  }

  std::vector<Piece> pieces;
  std::vector<Change> changes;
  std::vector<std::string> overruns;
  std::function<void()> on_take;
};

/// Lets the loop work until `condition`. False where that does not come within a
/// time that no machine needs.
inline bool serve_until(Loop& loop, const std::function<bool()>& condition) {
  using SteadyClock = std::chrono::steady_clock;
  const auto limit = SteadyClock::now() + std::chrono::seconds{60};
  while (!condition()) {
    if (SteadyClock::now() > limit) return false;
    loop.impl().io.run_one_for(std::chrono::milliseconds{20});
  }
  return true;
}

/// Lets the loop do all that it has to do at once.
inline void serve_what_is_due(Loop& loop) {
  while (loop.impl().io.poll() > 0) {
  }
}

/// A clock on which every look takes a second.
inline Setting setting() {
  Setting out;
  out.clock = [now = Instant{}]() mutable { return now = now + Duration::seconds(1); };
  return out;
}

/// An empty folder of its own, with all in it gone at the end.
class TempFolder {
 public:
  TempFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "fieldfare-XXXXXX").string();
    if (!mkdtemp(name.data())) throw std::system_error{errno, std::generic_category(), name};
    path_ = name;
  }
  ~TempFolder() {
    std::error_code error;
    std::filesystem::remove_all(path_, error);
  }
  TempFolder(const TempFolder&) = delete;
  TempFolder& operator=(const TempFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }
  std::string operator/(std::string_view name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

inline void append(const std::string& path, std::string_view text) {
  std::ofstream{path, std::ios::binary | std::ios::app} << text;
}

/// Puts a link to `target` in the place of `link` at one blow.
inline void point(const std::string& link, const std::string& target) {
  std::filesystem::create_symlink(target, link + ".new");
  std::filesystem::rename(link + ".new", link);
}

}  // namespace fieldfare::source::test
