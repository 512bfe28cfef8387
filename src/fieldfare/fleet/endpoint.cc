// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/fleet/endpoint.h"

#include <arpa/inet.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <string>
#include <utility>

#include "fieldfare/base/nearest.h"
#include "fieldfare/fleet/internal/url.h"

namespace fieldfare::fleet {
namespace {

using Trouble = std::optional<Complaint>;
using Parsed = Result<Endpoint, Complaint>;

constexpr std::size_t kLongestHost = 253;  // RFC 1035 section 2.3.4, in text form

struct Range {
  unsigned least, most;
};

Trouble read_number(const UrlPart& part, Range range, unsigned& out) {
  unsigned value = 0;
  const char* const end = part.raw.data() + part.raw.size();
  const auto [stop, error] = std::from_chars(part.raw.data(), end, value);
  if (error == std::errc{} && stop == end && value >= range.least && value <= range.most) {
    out = value;
    return std::nullopt;
  }
  return complaint_at(
      part.column, "not a number in range",
      "expected " + std::to_string(range.least) + " to " + std::to_string(range.most));
}

Trouble read_number(const Url& url, std::string_view key, Range range, unsigned& out) {
  const UrlOption* const option = url.option(key);
  return option ? read_number(option->value, range, out) : std::nullopt;
}

Trouble read_text(const UrlPart& part, std::string& out) {
  auto text = decoded(part);
  if (!text) return text.error();
  out = std::move(*text);
  return std::nullopt;
}

Trouble read_text(const Url& url, std::string_view key, std::string& out) {
  const UrlOption* const option = url.option(key);
  return option ? read_text(option->value, out) : std::nullopt;
}

/// The complaint of the first step that has one.
template <class... Step>
Trouble first_trouble(Step&&... step) {
  Trouble trouble;
  (void)((trouble = step()).has_value() || ...);
  return trouble;
}

struct Authority {
  UrlPart host;
  std::optional<UrlPart> port;
  bool bracketed = false;
};

Result<Authority, Complaint> read_authority(const Url& url, std::string_view example) {
  const UrlPart whole = url.authority.value_or(UrlPart{{}, url.path.column});
  Authority out;
  out.bracketed = whole.raw.starts_with('[');
  const std::size_t closing = out.bracketed ? whole.raw.find(']') : 0;
  const std::size_t colon =
      closing == std::string_view::npos ? closing : whole.raw.find(':', closing);
  const std::size_t end = std::min(colon, whole.raw.size());
  const std::size_t first = out.bracketed ? 1 : 0;
  const bool closed = !out.bracketed || (closing != std::string_view::npos && closing + 1 == end);
  out.host = {whole.raw.substr(first, (out.bracketed && closed ? end - 1 : end) - first),
              whole.column + first};
  if (!closed || out.host.raw.empty() || out.host.raw.size() > kLongestHost) {
    return Failure{complaint_at(whole.column, "no host that could be one",
                                "expected e.g. `" + std::string{example} + '`')};
  }
  if (colon != std::string_view::npos) {
    out.port = UrlPart{whole.raw.substr(colon + 1), whole.column + colon + 1};
  }
  return out;
}

bool is_numeric_host(const std::string& host, bool v6) {
  std::array<unsigned char, 16> address{};
  return inet_pton(v6 ? AF_INET6 : AF_INET, host.c_str(), address.data()) == 1;
}

bool is_host_name(std::string_view host) {
  return std::ranges::all_of(host, [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
           c == '.' || c == '_';
  });
}

/// The path of a scheme whose URL names a place of this machine.
Trouble read_local_path(const Url& url, std::string_view example, std::string& path) {
  const std::string expected = "expected e.g. `" + std::string{example} + '`';
  if (url.authority && !url.authority->raw.empty()) {
    return complaint_at(url.authority->column, "a host stands here: two slashes announce one",
                        expected);
  }
  if (auto trouble = read_text(url.path, path)) return trouble;
  if (path.empty()) return complaint_at(url.path.column, "no name stands here", expected);
  return std::nullopt;
}

Trouble read_parity(const Url& url, Parity& parity) {
  const UrlOption* const option = url.option("parity");
  if (!option) return std::nullopt;
  const std::string_view text = option->value.raw;
  if (text != "none" && text != "even" && text != "odd") {
    return complaint_at(option->value.column, "no such parity", "expected `none`, `even` or `odd`");
  }
  parity = text == "none" ? Parity::none : text == "even" ? Parity::even : Parity::odd;
  return std::nullopt;
}

Parsed parse_serial(const Url& url) {
  constexpr std::array<std::string_view, 4> kOptions = {"baud", "data", "parity", "stop"};
  constexpr std::string_view kExample = "serial:///dev/ttyUSB0";
  SerialEndpoint out;
  const Trouble trouble =
      first_trouble([&] { return unknown_option(url, kOptions); },
                    [&] { return read_local_path(url, kExample, out.device); },
                    [&]() -> Trouble {
                      if (out.device.starts_with('/')) return std::nullopt;
                      return complaint_at(url.path.column, "a port has its whole path",
                                          "expected e.g. `" + std::string{kExample} + '`');
                    },
                    [&] {
                      return read_number(url, "baud", {50, 4'000'000}, out.baud);
                    },
                    [&] {
                      return read_number(url, "data", {5, 8}, out.data_bits);
                    },
                    [&] {
                      return read_number(url, "stop", {1, 2}, out.stop_bits);
                    },
                    [&] { return read_parity(url, out.parity); });
  if (trouble) return Failure{*trouble};
  return Endpoint{out};
}

Parsed parse_udp(const Url& url) {
  constexpr std::string_view kExample = "udp://0.0.0.0:5005";
  const auto authority = read_authority(url, kExample);
  if (!authority) return Failure{authority.error()};
  UdpEndpoint out;
  unsigned port = 0;
  const Trouble trouble = first_trouble(
      [&] { return unknown_option(url, {}); }, [&] { return read_text(authority->host, out.host); },
      [&]() -> Trouble {
        if (is_numeric_host(out.host, authority->bracketed)) return std::nullopt;
        return complaint_at(authority->host.column, "not an address of a machine, as a number",
                            "expected e.g. `0.0.0.0`, `[::]` or `192.0.2.17`");
      },
      [&]() -> Trouble {
        if (authority->port) return read_number(*authority->port, {1, 65'535}, port);
        return complaint_at(url.path.column, "the port is missing",
                            "expected e.g. `" + std::string{kExample} + '`');
      },
      [&]() -> Trouble {
        if (url.path.raw.empty() || url.path.raw == "/") return std::nullopt;
        return complaint_at(url.path.column, "nothing may follow the port",
                            "expected e.g. `" + std::string{kExample} + '`');
      });
  if (trouble) return Failure{*trouble};
  out.port = static_cast<std::uint16_t>(port);
  return Endpoint{out};
}

/// Source: MQTT 5.0 (OASIS) section 4.7.1, wildcards; as in 3.1.1.
Trouble trouble_of_filter(const UrlPart& path, std::string_view filter) {
  const auto complaint = [&](std::string what) {
    return complaint_at(path.column, std::move(what),
                        "expected a topic filter, e.g. `/dairy/+/up` or `/dairy/%23`");
  };
  if (filter.empty()) return complaint("no topic filter stands here");
  std::size_t at = 0;
  while (at <= filter.size()) {
    const std::size_t end = std::min(filter.find('/', at), filter.size());
    const std::string_view level = filter.substr(at, end - at);
    const bool wild = level.find_first_of("+#") != std::string_view::npos;
    if (wild && level.size() > 1) return complaint("`+` and `%23` stand alone between slashes");
    if (level == "#" && end < filter.size()) return complaint("`%23` stands only at the end");
    at = end + 1;
  }
  return std::nullopt;
}

Trouble read_topic_filter(const Url& url, std::string& filter) {
  UrlPart path = url.path;
  if (path.raw.starts_with('/')) {
    path.raw.remove_prefix(1);
    ++path.column;
  }
  if (auto trouble = read_text(path, filter)) return trouble;
  return trouble_of_filter(path, filter);
}

Trouble read_version(const Url& url, unsigned& version) {
  const UrlOption* const option = url.option("version");
  if (!option) return std::nullopt;
  const std::string_view text = option->value.raw;
  if (text != "5" && text != "3.1.1") {
    return complaint_at(option->value.column, "no version of MQTT that is spoken here",
                        "expected `5` or `3.1.1`");
  }
  version = text == "5" ? 5 : 4;
  return std::nullopt;
}

/// What only makes sense together.
Trouble trouble_between(const Url& url, const MqttEndpoint& out) {
  const auto lacks = [&](std::string_view key, std::string_view other) -> Trouble {
    const UrlOption* const option = url.option(key);
    if (!option || url.option(other)) return std::nullopt;
    return complaint_at(option->key.column,
                        "`" + std::string{key} + "` needs `" + std::string{other} + "` as well",
                        "expected both");
  };
  if (!out.tls) {
    for (const std::string_view key : {"ca-file", "certificate-file", "key-file"}) {
      const UrlOption* const option = url.option(key);
      if (!option) continue;
      return complaint_at(option->key.column, "`" + std::string{key} + "` is of use only with TLS",
                          "expected `mqtts://`");
    }
  }
  return first_trouble([&] { return lacks("certificate-file", "key-file"); },
                       [&] { return lacks("key-file", "certificate-file"); },
                       [&] { return lacks("password-file", "user"); });
}

Parsed parse_mqtt(const Url& url) {
  constexpr std::array<std::string_view, 8> kOptions = {
      "version",       "qos",     "client-id",        "user",
      "password-file", "ca-file", "certificate-file", "key-file"};
  const auto authority = read_authority(url, "mqtt://broker/dairy/%23");
  if (!authority) return Failure{authority.error()};
  MqttEndpoint out;
  out.tls = url.scheme.raw == "mqtts";
  unsigned port = out.tls ? kMqttsPort : kMqttPort;
  const Trouble trouble = first_trouble(
      [&] { return unknown_option(url, kOptions); },
      [&] { return read_text(authority->host, out.host); },
      [&]() -> Trouble {
        if (authority->bracketed ? is_numeric_host(out.host, true) : is_host_name(out.host)) {
          return std::nullopt;
        }
        return complaint_at(authority->host.column, "no name or address of a host",
                            "expected e.g. `broker.example` or `[::1]`");
      },
      [&] {
        return authority->port ? read_number(*authority->port, {1, 65'535}, port) : Trouble{};
      },
      [&] { return read_topic_filter(url, out.topic_filter); },
      [&] { return read_version(url, out.version); },
      [&] {
        return read_number(url, "qos", {0, 1}, out.qos);
      },
      [&] { return read_text(url, "client-id", out.client_id); },
      [&] { return read_text(url, "user", out.user); },
      [&] { return read_text(url, "password-file", out.password_file); },
      [&] { return read_text(url, "ca-file", out.ca_file); },
      [&] { return read_text(url, "certificate-file", out.certificate_file); },
      [&] { return read_text(url, "key-file", out.key_file); },
      [&] { return trouble_between(url, out); });
  if (trouble) return Failure{*trouble};
  out.port = static_cast<std::uint16_t>(port);
  return Endpoint{out};
}

Parsed parse_file(const Url& url) {
  constexpr std::array<std::string_view, 1> kOptions = {"from"};
  FileEndpoint out;
  const Trouble trouble = first_trouble(
      [&] { return unknown_option(url, kOptions); },
      [&] {
        return read_local_path(url, "file:hearings.csv` or `file:///var/log/x.csv", out.path);
      },
      [&]() -> Trouble {
        const UrlOption* const from = url.option("from");
        out.from_end = from && from->value.raw == "end";
        if (!from || out.from_end || from->value.raw == "start") return std::nullopt;
        return complaint_at(from->value.column, "not a place to begin at",
                            "expected `start` or `end`");
      });
  if (trouble) return Failure{*trouble};
  return Endpoint{out};
}

Parsed parse_pipe(const Url& url) {
  PipeEndpoint out;
  const Trouble trouble = first_trouble(
      [&] { return unknown_option(url, {}); },
      [&] { return read_local_path(url, "pipe:-` or `pipe:///run/hearings.fifo", out.path); });
  if (trouble) return Failure{*trouble};
  return Endpoint{out};
}

}  // namespace

Parsed parse_endpoint(std::string_view url) {
  constexpr std::array<std::string_view, 6> kSchemes = {"serial", "udp",  "mqtt",
                                                        "mqtts",  "file", "pipe"};
  const auto parts = split_url(url);
  if (!parts) return Failure{parts.error()};
  const std::string_view scheme = parts->scheme.raw;
  if (scheme == "serial") return parse_serial(*parts);
  if (scheme == "udp") return parse_udp(*parts);
  if (scheme == "mqtt" || scheme == "mqtts") return parse_mqtt(*parts);
  if (scheme == "file") return parse_file(*parts);
  if (scheme == "pipe") return parse_pipe(*parts);
  const auto nearest = nearest_name(scheme, kSchemes);
  return Failure{
      complaint_at(1, "no kind of source is called `" + std::string{scheme.substr(0, 40)} + '`',
                   nearest ? "did you mean `" + std::string{*nearest} + "`?"
                           : "expected one of `serial`, `udp`, `mqtt`, `mqtts`, `file`, `pipe`")};
}

}  // namespace fieldfare::fleet
