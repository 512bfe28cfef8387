// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "fieldfare/wire/byte_log.h"
#include "fieldfare/work/hand.h"

// What somebody said at a desk, as lines of a log of bytes.
namespace fieldfare::app {

/// The parts of such a line.
struct Said {
  std::string about;  ///< a row's key, or digits of a label
  std::string what;
};

/// Nothing where the deed says nothing of a node: saving, leaving; or, of a reminder,
/// nothing definite.
std::optional<Said> said(const work::Deed& deed);

/// The deed of a line; nothing where it is none.
std::optional<work::Deed> deed_of(const wire::LoggedBytes& logged);

}  // namespace fieldfare::app
