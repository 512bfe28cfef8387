// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <concepts>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace fieldfare::render::internal {

/// Writes one JSON document (RFC 8259), keys in the order they are given,
/// indented by two blanks. Numbers are the shortest that read back the same,
/// which the usual JSON library only nearly promises; what has no value (NaN,
/// infinity, an empty optional) isn't written, key and all.
///
/// Inside an array pass no key. Bytes that are no UTF-8 become U+FFFD.
class JsonWriter {
 public:
  void open_object(std::string_view key = {}) { open(key, '{'); }
  void open_array(std::string_view key = {}) { open(key, '['); }
  void close_object() { close('}'); }
  void close_array() { close(']'); }

  void put(std::string_view key, std::string_view text);
  void put(std::string_view key, double number);
  void put(std::string_view key, std::uint64_t number);
  template <std::same_as<bool> Bool>
  void put(std::string_view key, Bool truth) {
    put_raw(key, truth ? "true" : "false");
  }
  template <class Value>
  void put(std::string_view key, const std::optional<Value>& value) {
    if (value) put(key, *value);
  }

  /// The document; nothing may be open any more.
  std::string finish();

 private:
  void open(std::string_view key, char bracket);
  void close(char bracket);
  void begin(std::string_view key);
  void put_raw(std::string_view key, std::string_view raw);
  void quote(std::string_view text);

  std::string out_;
  std::vector<bool> has_members_;
};

}  // namespace fieldfare::render::internal
