// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/result.h"

// URLs as RFC 3986 has them, with what an endpoint has no use for refused: user
// information, fragments, and what decodes to no UTF-8 or to control characters.
namespace fieldfare::fleet {

inline constexpr std::size_t kLongestUrl = 2'048;

/// A stretch of a URL, still percent-encoded. Columns count from 1.
struct UrlPart {
  std::string_view raw;
  std::size_t column = 1;
};

struct UrlOption {
  UrlPart key;
  UrlPart value;
};

/// Views into the text that was split.
struct Url {
  UrlPart scheme;
  std::optional<UrlPart> authority;  ///< where `//` follows the scheme; may be empty
  UrlPart path;
  std::vector<UrlOption> query;  ///< every key once

  const UrlOption* option(std::string_view key) const;
};

Complaint complaint_at(std::size_t column, std::string what, std::string expected);

Result<Url, Complaint> split_url(std::string_view text);

/// The part with its %XX replaced.
Result<std::string, Complaint> decoded(const UrlPart& part);

/// `text` with %XX for all that is not unreserved (RFC 3986 section 2.3) nor one
/// of `also`.
std::string percent_encoded(std::string_view text, std::string_view also);

/// A complaint about the first key of the query that is none of `known`.
std::optional<Complaint> unknown_option(const Url& url, std::span<const std::string_view> known);

}  // namespace fieldfare::fleet
