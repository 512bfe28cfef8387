// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "fieldfare/source/source.h"

namespace fieldfare::source {

/// A named pipe, which stays open for the next writer, or standard input (`-`),
/// which has an end.
std::unique_ptr<Source> make_pipe_source(const fleet::PipeEndpoint& endpoint, Setting setting,
                                         Loop& loop, Sink& sink);

}  // namespace fieldfare::source
