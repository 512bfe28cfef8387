// SPDX-License-Identifier: Apache-2.0
#include <clocale>
#include <csignal>
#include <exception>

#include "fieldfare/cli/command.h"
#include "fieldfare/cli/verbs.h"

int main(int argc, char** argv) {
  using namespace fieldfare;
  // A reader that goes away ends the printing, not the program in its midst.
  std::signal(SIGPIPE, SIG_IGN);
  std::setlocale(LC_CTYPE, "");
  try {
    const auto command = cli::parse_command(argc, argv);
    if (!command) return static_cast<int>(cli::print_usage(command.error()));
    const auto exit = std::visit([](const auto& asked) { return cli::run(asked); }, *command);
    return static_cast<int>(argc < 2 ? cli::Exit::input : exit);
  } catch (const std::exception& fault) {
    return static_cast<int>(
        cli::print({app::Blame::machine, {{{}, fault.what(), "enough memory and disk"}}}));
  }
}
