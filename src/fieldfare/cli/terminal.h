// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/app/trouble.h"
#include "fieldfare/base/instant.h"
#include "fieldfare/render/words.h"

namespace fieldfare::cli {

/// Exit codes; what they mean is part of the contract with scripts.
enum class Exit : int { yes = 0, no = 1, input = 2, machine = 3 };

/// The moment: the one place where the program reads the system's clock for its use cases.
Instant now();

/// What standard output can show: width of the terminal (or COLUMNS, or 100),
/// Unicode by the locale, emphasis on terminals unless NO_COLOR is set.
render::TextStyle output_style(std::optional<std::size_t> width);

/// Prints to standard output. A reader that has gone away is no failure, a full
/// disk is: then says so and gives Exit::machine, else `answer`.
Exit print(std::string_view text, Exit answer);

/// Prints what is wrong to standard error, each complaint on a line of its own.
Exit print(const app::Trouble& trouble);
Exit print_usage(std::string_view what);

/// Shows the moments of this process in a time zone, an IANA name. Gives the name
/// of the zone that is shown: UTC where this machine doesn't know the wanted one.
std::string use_time_zone(const std::string& name);

/// Counts rows on standard error while they are read, where that is a terminal;
/// wipes its line at the end.
class ProgressLine {
 public:
  ProgressLine();
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  /// Empty where nobody watches.
  std::function<void(std::uint64_t rows)> teller();

 private:
  bool watched_;
  bool shown_ = false;
};

}  // namespace fieldfare::cli
