// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "fieldfare/source/source.h"

namespace fieldfare::source {

/// A file as it grows: from the last mark, or from its beginning or end. What was
/// replaced, cut short or written anew is read from its new beginning, which is
/// told.
///
/// A mark is a place in the file with a check of the octets before it, so that
/// another file under the same name is noticed after a restart too. An arrival
/// ends with a line where it can: then a mark never parts one.
std::unique_ptr<Source> make_file_source(const fleet::FileEndpoint& endpoint, Setting setting,
                                         Loop& loop, Sink& sink);

}  // namespace fieldfare::source
