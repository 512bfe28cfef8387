// SPDX-License-Identifier: Apache-2.0
#include <string>

#include "fieldfare/fleet/endpoint.h"
#include "fieldfare/fleet/internal/url.h"

namespace fieldfare::fleet {
namespace {

/// What may stand in a path or in an option's value as it is.
constexpr std::string_view kPlain = "/:@!$'()*+,;";

/// The options that differ from what is taken without them.
class Options {
 public:
  void add(std::string_view key, std::string_view value) {
    text_ += text_.empty() ? '?' : '&';
    text_ += std::string{key} + '=' + percent_encoded(value, kPlain);
  }
  void add_if_given(std::string_view key, std::string_view value) {
    if (!value.empty()) add(key, value);
  }
  template <class T>
  void add_unless(T value, T usual, std::string_view key) {
    if (value != usual) add(key, std::to_string(value));
  }
  const std::string& text() const { return text_; }

 private:
  std::string text_;
};

std::string host_text(const std::string& host) {
  return host.find(':') == std::string::npos ? host : '[' + host + ']';
}

std::string local_text(std::string_view scheme, std::string_view path) {
  return std::string{scheme} + (path.starts_with('/') ? "://" : ":") +
         percent_encoded(path, kPlain);
}

std::string text_of(const SerialEndpoint& endpoint) {
  const SerialEndpoint usual;
  Options options;
  options.add_unless(endpoint.baud, usual.baud, "baud");
  options.add_unless(endpoint.data_bits, usual.data_bits, "data");
  if (endpoint.parity != usual.parity) {
    options.add("parity", endpoint.parity == Parity::even ? "even" : "odd");
  }
  options.add_unless(endpoint.stop_bits, usual.stop_bits, "stop");
  return local_text("serial", endpoint.device) + options.text();
}

std::string text_of(const UdpEndpoint& endpoint) {
  return "udp://" + host_text(endpoint.host) + ':' + std::to_string(endpoint.port);
}

std::string text_of(const MqttEndpoint& endpoint) {
  const MqttEndpoint usual;
  Options options;
  if (endpoint.version != usual.version) options.add("version", "3.1.1");
  options.add_unless(endpoint.qos, usual.qos, "qos");
  options.add_if_given("client-id", endpoint.client_id);
  options.add_if_given("user", endpoint.user);
  options.add_if_given("password-file", endpoint.password_file);
  options.add_if_given("ca-file", endpoint.ca_file);
  options.add_if_given("certificate-file", endpoint.certificate_file);
  options.add_if_given("key-file", endpoint.key_file);
  std::string out = (endpoint.tls ? "mqtts://" : "mqtt://") + host_text(endpoint.host);
  if (endpoint.port != (endpoint.tls ? kMqttsPort : kMqttPort)) {
    out += ':' + std::to_string(endpoint.port);
  }
  return out + '/' + percent_encoded(endpoint.topic_filter, kPlain) + options.text();
}

std::string text_of(const FileEndpoint& endpoint) {
  return local_text("file", endpoint.path) + (endpoint.from_end ? "?from=end" : "");
}

std::string text_of(const PipeEndpoint& endpoint) { return local_text("pipe", endpoint.path); }

}  // namespace

std::string text_of(const Endpoint& endpoint) {
  return std::visit([](const auto& one) { return text_of(one); }, endpoint);
}

}  // namespace fieldfare::fleet
