// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/render/desk_screen.h"
#include "fieldfare/work/hand.h"

namespace fieldfare::cli {

/// A terminal that is painted and whose keys are read one by one; by one thread.
///
/// The terminal is as before when this ends, however the process ends: by its
/// destructor, by exit(), or by a signal that kills. Ctrl-C and Ctrl-Z keep their
/// meaning; after a stop the screen comes back whole. Whoever handles SIGINT or
/// SIGTERM himself calls close() first, since a second one may kill at once.
class LiveTerminal {
 public:
  /// Nothing where `in` or `out` is no terminal, or one that can't place text
  /// (TERM absent or `dumb`): tell lines there. One at a time in a process.
  static std::optional<LiveTerminal> open(int in, int out);
  ~LiveTerminal();
  LiveTerminal(LiveTerminal&& other) noexcept;
  LiveTerminal& operator=(LiveTerminal&& other) noexcept;
  LiveTerminal(const LiveTerminal&) = delete;
  LiveTerminal& operator=(const LiveTerminal&) = delete;

  /// As of now; 80 by 24 where the terminal doesn't say, or was given back.
  render::ScreenSize size() const;

  /// Keys that were pressed; waits for the first no longer than `patience` (0: not at
  /// all), and comes back early, without keys, when the window's size has changed.
  /// Ends with Key::end_of_input once the terminal is gone.
  std::vector<work::KeyPress> read(std::chrono::milliseconds patience);

  /// Shows these lines from the top, and nothing else. Writes those that changed.
  void paint(const std::vector<std::string>& lines);
  void bell();

  /// Gives the terminal back; afterwards the others do nothing.
  void close();

 private:
  struct Impl;
  explicit LiveTerminal(std::unique_ptr<Impl> impl);

  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::cli
