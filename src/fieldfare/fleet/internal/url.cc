// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/fleet/internal/url.h"

#include <algorithm>
#include <array>
#include <utility>

#include "fieldfare/base/nearest.h"
#include "fieldfare/base/utf8.h"

namespace fieldfare::fleet {
namespace {

constexpr std::string_view kHexDigits = "0123456789ABCDEF";

bool is_letter_or_digit(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

std::string encoded_octet(char c) {
  const auto octet = static_cast<unsigned char>(c);
  return {'%', kHexDigits[octet >> 4], kHexDigits[octet & 15]};
}

/// Reserved and unreserved, RFC 3986 section 2; the fragment's `#` is not ours.
bool may_stand(char c) {
  return is_letter_or_digit(c) ||
         std::string_view{"-._~:/?[]@!$&'()*+,;=%"}.find(c) != std::string_view::npos;
}

Complaint no_place_for(std::string_view text, std::size_t at) {
  const std::string_view rest = text.substr(at);
  const std::size_t size = std::max<std::size_t>(1, utf8_character_size(rest));
  std::string instead;
  for (const char c : rest.substr(0, size)) instead += encoded_octet(c);
  return complaint_at(at + 1, "this character may not stand in a URL",
                      "expected `" + instead + "` in its place");
}

/// The URL `text` from `at` up to the first of `ends`, where `at` is then.
UrlPart cut(std::string_view text, std::size_t& at, std::string_view ends) {
  const std::size_t end = std::min(text.find_first_of(ends, at), text.size());
  const UrlPart part{text.substr(at, end - at), at + 1};
  at = end;
  return part;
}

Complaint complaint_of_secret(const UrlPart& part) {
  return complaint_at(part.column, "a URL holds no password: it would be seen by all who see it",
                      "expected `password-file=FILE`, a file whose first line it is");
}

std::optional<Complaint> complaint_of_user(const UrlPart& authority) {
  const std::size_t at = authority.raw.rfind('@');
  if (at == std::string_view::npos) return std::nullopt;
  if (authority.raw.substr(0, at).find(':') != std::string_view::npos)
    return complaint_of_secret(authority);
  return complaint_at(authority.column, "the user has no place before the host",
                      "expected `user=NAME` behind a `?`");
}

bool names_a_secret(std::string_view key) {
  constexpr std::array<std::string_view, 7> kSecrets = {"password", "passwd", "passphrase", "pass",
                                                        "pwd",      "secret", "token"};
  return std::ranges::find(kSecrets, key) != kSecrets.end();
}

std::optional<Complaint> read_query(std::string_view text, std::size_t at, Url& url) {
  while (at < text.size()) {
    ++at;  // the ? or &
    UrlOption option;
    option.key = cut(text, at, "=&");
    if (names_a_secret(option.key.raw)) return complaint_of_secret(option.key);
    const bool has_value = at < text.size() && text[at] == '=';
    if (has_value) ++at;
    option.value = cut(text, at, "&");
    if (option.key.raw.empty() || option.value.raw.empty()) {
      return complaint_at(option.key.column, "an option lacks its name or its value",
                          "expected `name=value`");
    }
    if (url.option(option.key.raw)) {
      return complaint_at(option.key.column, "an option stands here twice", "expected it once");
    }
    url.query.push_back(option);
  }
  return std::nullopt;
}

int hex_value(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  return -1;
}

}  // namespace

const UrlOption* Url::option(std::string_view key) const {
  const auto found =
      std::ranges::find_if(query, [&](const UrlOption& option) { return option.key.raw == key; });
  return found == query.end() ? nullptr : &*found;
}

Complaint complaint_at(std::size_t column, std::string what, std::string expected) {
  return {{{}, 0, column}, std::move(what), std::move(expected)};
}

Result<Url, Complaint> split_url(std::string_view text) {
  if (text.size() > kLongestUrl) {
    return Failure{complaint_at(kLongestUrl + 1, "the URL is too long",
                                "expected at most " + std::to_string(kLongestUrl) + " characters")};
  }
  Url url;
  std::size_t at = 0;
  url.scheme = cut(text, at, ":/?#@");
  if (url.scheme.raw.empty() || at == text.size() || text[at] != ':') {
    return Failure{complaint_at(1, "a URL begins with what kind of source it is",
                                "expected e.g. `serial:///dev/ttyUSB0` or `file:hearings.csv`")};
  }
  ++at;
  if (text.substr(at).starts_with("//")) {
    at += 2;
    url.authority = cut(text, at, "/?#");
    // Before anything else that might show a part of it.
    if (auto complaint = complaint_of_user(*url.authority)) return Failure{*complaint};
  }
  const auto bad = std::ranges::find_if_not(text, may_stand);
  if (bad != text.end()) {
    return Failure{no_place_for(text, static_cast<std::size_t>(bad - text.begin()))};
  }
  url.path = cut(text, at, "?");
  if (auto complaint = read_query(text, at, url)) return Failure{*complaint};
  return url;
}

Result<std::string, Complaint> decoded(const UrlPart& part) {
  std::string text;
  for (std::size_t i = 0; i < part.raw.size(); ++i) {
    if (part.raw[i] != '%') {
      text += part.raw[i];
      continue;
    }
    const int high = i + 1 < part.raw.size() ? hex_value(part.raw[i + 1]) : -1;
    const int low = i + 2 < part.raw.size() ? hex_value(part.raw[i + 2]) : -1;
    if (high < 0 || low < 0) {
      return Failure{complaint_at(part.column + i, "`%` is not followed by two hex digits",
                                  "expected e.g. `%23`, and `%25` for the sign itself")};
    }
    text += static_cast<char>(high * 16 + low);
    i += 2;
  }
  bool control = false;
  std::size_t good = 0;
  while (const std::size_t size = utf8_character_size(std::string_view{text}.substr(good))) {
    control = control || is_control(std::string_view{text}.substr(good, size));
    good += size;
  }
  if (control || good < text.size()) {
    return Failure{complaint_at(part.column, "this decodes to what is no text",
                                "expected UTF-8 without control characters")};
  }
  return text;
}

std::string percent_encoded(std::string_view text, std::string_view also) {
  std::string out;
  for (const char c : text) {
    const bool plain =
        is_letter_or_digit(c) || std::string_view{"-._~"}.find(c) != std::string_view::npos;
    if (plain || also.find(c) != std::string_view::npos) {
      out += c;
    } else {
      out += encoded_octet(c);
    }
  }
  return out;
}

std::optional<Complaint> unknown_option(const Url& url, std::span<const std::string_view> known) {
  for (const UrlOption& option : url.query) {
    if (std::ranges::find(known, option.key.raw) != known.end()) continue;
    std::string expected;
    if (const auto nearest = nearest_name(option.key.raw, known)) {
      expected = "did you mean `" + std::string{*nearest} + "`?";
    } else if (known.empty()) {
      expected = "expected none here";
    } else {
      for (const std::string_view name : known) {
        expected += (expected.empty() ? "expected one of `" : "`, `") + std::string{name};
      }
      expected += '`';
    }
    return complaint_at(option.key.column,
                        "unknown option `" + std::string{option.key.raw.substr(0, 40)} + '`',
                        std::move(expected));
  }
  return std::nullopt;
}

}  // namespace fieldfare::fleet
