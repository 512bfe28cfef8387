// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/mqtt_link.h"

#include <openssl/err.h>
#include <openssl/ssl.h>
#include <openssl/x509_vfy.h>

#include <asio/buffer.hpp>
#include <asio/connect.hpp>
#include <asio/error.hpp>
#include <asio/ip/address.hpp>
#include <asio/ip/tcp.hpp>
#include <asio/ssl.hpp>
#include <asio/write.hpp>
#include <utility>

namespace fieldfare::source::mqtt {
namespace {

using asio::ip::tcp;

std::string place_of(const fleet::MqttEndpoint& endpoint) {
  return endpoint.host + ":" + std::to_string(endpoint.port);
}

Trouble unknown_host(const fleet::MqttEndpoint& endpoint, const std::error_code& error) {
  if (error == asio::error::host_not_found || error == asio::error::no_data) {
    return {.what = "no host is known by the name '" + endpoint.host + "'",
            .remedy = "check its spelling, or give its address"};
  }
  return {.what = "the host '" + endpoint.host + "' could not be looked up: " + error.message(),
          .remedy = "check this machine's network and name service"};
}

Trouble not_connected(const fleet::MqttEndpoint& endpoint, const std::error_code& error) {
  const std::string place = place_of(endpoint);
  if (error == asio::error::connection_refused) {
    return {.what = place + " refuses the connection",
            .remedy = "is the broker running, and is this its port (usually 1883, with TLS 8883)?"};
  }
  return {.what = place + " can't be reached: " + error.message(),
          .remedy = "check the network, the address, and firewalls between"};
}

/// What OpenSSL found wrong with the broker's certificate.
Trouble not_verified(const fleet::MqttEndpoint& endpoint, long verdict) {
  switch (verdict) {
    case X509_V_ERR_HOSTNAME_MISMATCH:
    case X509_V_ERR_IP_ADDRESS_MISMATCH:
      return {.what = "the broker's certificate is not for '" + endpoint.host + "'",
              .remedy = "name the broker in the source as its certificate does"};
    case X509_V_ERR_CERT_HAS_EXPIRED:
      return {.what = "the broker's certificate has expired",
              .remedy = "renew it; or is this machine's clock wrong?"};
    case X509_V_ERR_CERT_NOT_YET_VALID:
      return {.what = "the broker's certificate is not valid yet",
              .remedy = "is this machine's clock wrong?"};
    case X509_V_ERR_DEPTH_ZERO_SELF_SIGNED_CERT:
    case X509_V_ERR_SELF_SIGNED_CERT_IN_CHAIN:
    case X509_V_ERR_UNABLE_TO_GET_ISSUER_CERT:
    case X509_V_ERR_UNABLE_TO_GET_ISSUER_CERT_LOCALLY:
    case X509_V_ERR_UNABLE_TO_VERIFY_LEAF_SIGNATURE:
    case X509_V_ERR_CERT_SIGNATURE_FAILURE:
      return {
          .what = "nobody who is trusted here signed the broker's certificate",
          .remedy = endpoint.ca_file.empty()
                        ? "name the file of its certificate authority in the source: ca-file"
                        : "is " + endpoint.ca_file + " the certificate authority of this broker?"};
    default:
      return {.what = std::string{"the broker's certificate is not good: "} +
                      X509_verify_cert_error_string(verdict),
              .remedy = "have the broker's certificate put right"};
  }
}

/// OpenSSL's reason; 0 where the error is not one of its.
int reason_of(const std::error_code& error) {
  if (error.category() != asio::error::get_ssl_category()) return 0;
  return ERR_GET_REASON(static_cast<unsigned long>(error.value()));
}

Trouble no_handshake(const fleet::MqttEndpoint& endpoint, const std::error_code& error,
                     long verdict) {
  if (verdict != X509_V_OK) return not_verified(endpoint, verdict);
  if (error == asio::ssl::error::stream_truncated || error == asio::error::eof ||
      error == asio::error::connection_reset) {
    return {.what = place_of(endpoint) + " hung up while TLS was to begin",
            .remedy = "is this the broker's port for TLS (usually 8883)?"};
  }
  if (reason_of(error) == SSL_R_WRONG_VERSION_NUMBER) {
    return {.what = place_of(endpoint) + " does not speak TLS",
            .remedy = "take its port for TLS (usually 8883), or write mqtt: for mqtts:"};
  }
  return {.what = "TLS with " + place_of(endpoint) + " failed: " + error.message(),
          .remedy = "check the certificates and what the broker demands"};
}

}  // namespace

struct Link::Impl {
  Impl(const fleet::MqttEndpoint& e, asio::io_context& io) : endpoint{e}, resolver{io}, plain{io} {}

  tcp::socket& socket() { return tls ? tls->next_layer() : plain; }
  std::optional<Trouble> prepare_tls(asio::io_context& io);
  bool expect_host() const;

  fleet::MqttEndpoint endpoint;
  tcp::resolver resolver;
  asio::ssl::context context{asio::ssl::context::tls_client};
  tcp::socket plain;
  std::unique_ptr<asio::ssl::stream<tcp::socket>> tls;
  std::optional<Trouble> unprepared;
};

/// Has OpenSSL hold the certificate against the host's name or address, and tells
/// the broker by which name it is called.
bool Link::Impl::expect_host() const {
  X509_VERIFY_PARAM* const wanted = SSL_get0_param(tls->native_handle());
  std::error_code no_address;
  asio::ip::make_address(endpoint.host, no_address);
  if (!no_address) return X509_VERIFY_PARAM_set1_ip_asc(wanted, endpoint.host.c_str()) == 1;
  return X509_VERIFY_PARAM_set1_host(wanted, endpoint.host.c_str(), endpoint.host.size()) == 1 &&
         SSL_set_tlsext_host_name(tls->native_handle(), endpoint.host.c_str()) == 1;
}

std::optional<Trouble> Link::Impl::prepare_tls(asio::io_context& io) {
  std::error_code error;
  const auto unusable = [&](const std::string& what, const std::string& file) {
    return Trouble{.what = what + " " + file + " can't be used: " + error.message(),
                   .remedy = "it must be a readable file in PEM form"};
  };
  context.set_options(asio::ssl::context::default_workarounds | asio::ssl::context::no_tlsv1 |
                          asio::ssl::context::no_tlsv1_1,
                      error);
  if (endpoint.ca_file.empty()) {
    context.set_default_verify_paths(error);
  } else if (context.load_verify_file(endpoint.ca_file, error); error) {
    return unusable("the file of certificate authorities", endpoint.ca_file);
  }
  if (!endpoint.certificate_file.empty()) {
    context.use_certificate_chain_file(endpoint.certificate_file, error);
    if (error) return unusable("the certificate", endpoint.certificate_file);
  }
  if (!endpoint.key_file.empty()) {
    context.use_private_key_file(endpoint.key_file, asio::ssl::context::pem, error);
    if (error) return unusable("the key", endpoint.key_file);
  }
  tls = std::make_unique<asio::ssl::stream<tcp::socket>>(io, context);
  tls->set_verify_mode(asio::ssl::verify_peer, error);
  if (error || !expect_host()) {
    return Trouble{.what = "TLS can't be prepared for '" + endpoint.host + "'",
                   .remedy = "check the name of the host"};
  }
  return std::nullopt;
}

Link::Link(const fleet::MqttEndpoint& endpoint, asio::io_context& io)
    : impl_{std::make_unique<Impl>(endpoint, io)} {
  if (endpoint.tls) impl_->unprepared = impl_->prepare_tls(io);
}

Link::~Link() = default;

void Link::open(const std::function<void(std::optional<Trouble>)>& done) {
  if (impl_->unprepared) {
    asio::post(impl_->resolver.get_executor(), [this, done] { done(impl_->unprepared); });
    return;
  }
  const auto shaken = [this, done](const std::error_code& error) {
    if (!error) return done(std::nullopt);
    done(no_handshake(impl_->endpoint, error, SSL_get_verify_result(impl_->tls->native_handle())));
  };
  const auto connected = [this, done, shaken](const std::error_code& error, const tcp::endpoint&) {
    if (error) return done(not_connected(impl_->endpoint, error));
    std::error_code ignored;  // both only make things faster
    impl_->socket().set_option(tcp::no_delay{true}, ignored);
    impl_->socket().non_blocking(true, ignored);
    if (!impl_->tls) return done(std::nullopt);
    impl_->tls->async_handshake(asio::ssl::stream_base::client, shaken);
  };
  impl_->resolver.async_resolve(impl_->endpoint.host, std::to_string(impl_->endpoint.port),
                                [this, done, connected](const std::error_code& error,
                                                        const tcp::resolver::results_type& found) {
                                  if (error) return done(unknown_host(impl_->endpoint, error));
                                  asio::async_connect(impl_->socket(), found, connected);
                                });
}

void Link::read_some(std::span<std::uint8_t> into,
                     std::function<void(const std::error_code&, std::size_t)> done) {
  const auto buffer = asio::buffer(into.data(), into.size());
  if (impl_->tls) {
    impl_->tls->async_read_some(buffer, std::move(done));
  } else {
    impl_->plain.async_read_some(buffer, std::move(done));
  }
}

void Link::write(std::span<const std::uint8_t> octets,
                 std::function<void(const std::error_code&)> done) {
  const auto buffer = asio::buffer(octets.data(), octets.size());
  const auto written = [done = std::move(done)](const std::error_code& error, std::size_t) {
    done(error);
  };
  if (impl_->tls) {
    asio::async_write(*impl_->tls, buffer, written);
  } else {
    asio::async_write(impl_->plain, buffer, written);
  }
}

void Link::write_now(std::span<const std::uint8_t> octets) {
  const auto buffer = asio::buffer(octets.data(), octets.size());
  std::error_code ignored;
  if (impl_->tls) {
    impl_->tls->write_some(buffer, ignored);
  } else {
    impl_->plain.write_some(buffer, ignored);
  }
}

void Link::close() {
  std::error_code ignored;
  impl_->resolver.cancel();
  impl_->socket().shutdown(tcp::socket::shutdown_both, ignored);
  impl_->socket().close(ignored);
}

Trouble Link::trouble_of(const std::error_code& error) {
  if (error == asio::error::eof || error == asio::ssl::error::stream_truncated) {
    return {.what = "the broker closed the connection", .remedy = ""};
  }
  if (error == asio::error::connection_reset || error == asio::error::broken_pipe) {
    return {.what = "the connection to the broker broke", .remedy = ""};
  }
  // In TLS 1.3 the broker looks at our certificate after the handshake.
  if (reason_of(error) == SSL_R_TLSV13_ALERT_CERTIFICATE_REQUIRED) {
    return {.what = "the broker demands a certificate of its clients",
            .remedy = "name a certificate and its key in the source: certificate-file, key-file"};
  }
  return {.what = "the connection to the broker failed: " + error.message(), .remedy = ""};
}

}  // namespace fieldfare::source::mqtt
