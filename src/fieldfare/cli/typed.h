// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "fieldfare/cli/command.h"

// From options as somebody typed them to what they mean.
namespace fieldfare::cli {

/// The value of an option as somebody typed it, before it means anything.
struct Typed {
  std::string from, to, interval, sequence_bits, confidence, width, how_long, content, shell;
  std::vector<std::string> sources;
  std::string baud;
  std::vector<std::string> ports, brokers, sockets, logs, provoked, values;
};

/// The command with what was typed read into it, or what is wrong as one sentence.
Result<Command, std::string> meant_by(ListenCommand listen, const Typed& typed);
Result<Command, std::string> meant_by(LearnCommand learn, const Typed& typed);
Result<Command, std::string> meant_by(JudgeCommand judge, const Typed& typed);

}  // namespace fieldfare::cli
