// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/calc/internal/cmac.h"

#include <openssl/core_names.h>
#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/params.h>

#include <algorithm>
#include <fstream>
#include <memory>
#include <optional>
#include <string_view>

#include "fieldfare/base/address.h"

namespace fieldfare::calc {
namespace {

constexpr std::size_t kKeyOctets = 16;

/// Octets that are wiped when they go out of scope.
template <std::size_t kSize>
struct Secret {
  std::array<std::uint8_t, kSize> octets{};

  Secret() = default;
  Secret(const Secret&) = delete;
  Secret& operator=(const Secret&) = delete;
  ~Secret() { OPENSSL_cleanse(octets.data(), octets.size()); }
};

using Key128 = Secret<kKeyOctets>;

bool read_hex_key(std::string_view text, Key128& key) {
  constexpr std::string_view kBlanks = " \t\r\n";
  const std::size_t first = text.find_first_not_of(kBlanks);
  if (first == std::string_view::npos) return false;
  text = text.substr(first, text.find_last_not_of(kBlanks) - first + 1);
  if (text.size() != 2 * kKeyOctets) return false;
  for (std::size_t i = 0; i < kKeyOctets; ++i) {
    const auto octet = parse_address(text.substr(2 * i, 2));
    if (!octet || octet->digits != 2) return false;
    key.octets[i] = static_cast<std::uint8_t>(octet->value);
  }
  return true;
}

/// Says what is wrong with the file; empty where the key was read.
std::string read_key(const std::string& path, Key128& key) {
  std::ifstream file{path, std::ios::binary};
  if (!file) return "cannot open the key file `" + path + '`';
  // Unbuffered, so that no copy of the key stays behind in a stream's buffer.
  file.rdbuf()->pubsetbuf(nullptr, 0);
  Secret<256> content;
  file.read(reinterpret_cast<char*>(content.octets.data()),
            static_cast<std::streamsize>(content.octets.size()));
  const auto size = static_cast<std::size_t>(file.gcount());
  if (size == kKeyOctets) {
    std::copy_n(content.octets.begin(), kKeyOctets, key.octets.begin());
    return {};
  }
  const std::string_view text{reinterpret_cast<const char*>(content.octets.data()), size};
  if (size < content.octets.size() && read_hex_key(text, key)) return {};
  return "the key file `" + path + "` must hold 32 hex digits or exactly 16 octets";
}

template <auto kFree>
struct Freed {
  template <class T>
  void operator()(T* pointer) const {
    kFree(pointer);
  }
};
using MacMethod = std::unique_ptr<EVP_MAC, Freed<EVP_MAC_free>>;
using MacContext = std::unique_ptr<EVP_MAC_CTX, Freed<EVP_MAC_CTX_free>>;

std::optional<Mac> cmac_of(const Key128& key, std::span<const std::uint8_t> message) {
  const MacMethod method{EVP_MAC_fetch(nullptr, "CMAC", nullptr)};
  const MacContext context{method ? EVP_MAC_CTX_new(method.get()) : nullptr};
  if (!context) return std::nullopt;
  std::array<char, 12> cipher{"AES-128-CBC"};
  const std::array<OSSL_PARAM, 2> parameters = {
      OSSL_PARAM_construct_utf8_string(OSSL_MAC_PARAM_CIPHER, cipher.data(), 0),
      OSSL_PARAM_construct_end()};
  Mac out{};
  std::size_t written = 0;
  const bool done =
      EVP_MAC_init(context.get(), key.octets.data(), key.octets.size(), parameters.data()) == 1 &&
      EVP_MAC_update(context.get(), message.data(), message.size()) == 1 &&
      EVP_MAC_final(context.get(), out.data(), &written, out.size()) == 1;
  return done && written == out.size() ? std::optional{out} : std::nullopt;
}

}  // namespace

Result<Mac, std::string> aes_cmac(const std::string& key_file,
                                  std::span<const std::uint8_t> message) {
  Key128 key;
  if (std::string why = read_key(key_file, key); !why.empty()) return Failure{std::move(why)};
  const auto mac = cmac_of(key, message);
  if (!mac) return Failure<std::string>{"the cryptographic library here knows no AES-CMAC"};
  return *mac;
}

}  // namespace fieldfare::calc
