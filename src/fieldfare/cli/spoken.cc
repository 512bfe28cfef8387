// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/spoken.h"

#include <algorithm>

#include "fieldfare/base/number_text.h"

namespace fieldfare::cli {
namespace {

/// Characters that mean something in a URL as % and two digits (RFC 3986).
std::string quoted(std::string_view text) {
  constexpr std::string_view kDigits = "0123456789ABCDEF";
  constexpr std::string_view kPlain = "-._~/+:@,=";
  std::string out;
  for (const char c : text) {
    const auto octet = static_cast<unsigned char>(c);
    const bool is_plain = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') ||
                          (c >= 'A' && c <= 'Z') || kPlain.find(c) != std::string_view::npos;
    if (is_plain) {
      out += c;
    } else {
      out += '%';
      out += kDigits[octet >> 4U];
      out += kDigits[octet & 15U];
    }
  }
  return out;
}

std::string_view cut_at(std::string_view& text, char mark) {
  const std::size_t end = std::min(text.find(mark), text.size());
  const std::string_view front = text.substr(0, end);
  text.remove_prefix(std::min(end + 1, text.size()));
  return front;
}

}  // namespace

std::string url_of_port(std::string_view device, std::string_view baud) {
  std::string url = "serial://" + quoted(device);
  if (!baud.empty()) url += "?baud=" + quoted(baud);
  return url;
}

std::string url_of_broker(std::string_view url, std::string_view topic_filter) {
  const std::string_view query = url.substr(std::min(url.find('?'), url.size()));
  std::string_view broker = url.substr(0, url.size() - query.size());
  while (broker.ends_with('/')) broker.remove_suffix(1);
  return std::string{broker} + '/' + quoted(topic_filter) + std::string{query};
}

std::string url_of_udp(std::string_view where) {
  const bool has_host = where.find(':') != std::string_view::npos;
  return (has_host ? "udp://" : "udp://0.0.0.0:") + std::string{where};
}

std::string url_of_log(std::string_view path) {
  return path == "-" ? "pipe:-" : "file:" + quoted(path);
}

std::optional<std::pair<Instant, std::string>> provoked_of(std::string_view text) {
  const auto at = parse_rfc3339(cut_at(text, '='));
  if (!at) return std::nullopt;
  return std::pair{*at, std::string{text}};
}

std::optional<LearnCommand::Value> value_of(std::string_view text) {
  LearnCommand::Value value;
  value.field = cut_at(text, '=');
  const std::size_t end = std::min(text.find_first_of("@="), text.size());
  const std::string_view number = text.substr(0, end);
  const auto read = parse_number(number);
  if (value.field.empty() || !read) return std::nullopt;
  value.value = *read;
  value.tolerance = half_of_last_digit(number);
  text.remove_prefix(end);
  if (text.starts_with('@')) {
    text.remove_prefix(1);
    value.at = parse_rfc3339(text.substr(0, text.find('=')));
    if (!value.at) return std::nullopt;
    text.remove_prefix(std::min(text.find('='), text.size()));
  }
  if (text.starts_with('=')) value.digits = text.substr(1);
  return value;
}

}  // namespace fieldfare::cli
