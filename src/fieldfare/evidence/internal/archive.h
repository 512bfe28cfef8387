// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <bit>
#include <cstdint>
#include <cstring>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

namespace fieldfare::evidence::internal {

__extension__ using Wide = __int128;  ///< for sums that must stay exact

template <class T>
concept Plain = std::is_arithmetic_v<T> || std::is_enum_v<T> || std::is_same_v<T, Wide>;

// Checkpoints are written as the machine holds numbers; they never leave it.
static_assert(std::endian::native == std::endian::little);

/// Writes state as bytes. A class is archived by its member template
/// `visit(archive)`, which names its members once for both directions.
class StateWriter {
 public:
  static constexpr bool kReads = false;

  template <class... T>
  void operator()(T&... values) {
    (one(values), ...);
  }
  void receiver(std::uint32_t& index) { one(index); }
  std::string take() { return std::move(bytes_); }

 private:
  template <class T>
  void one(T& value) {
    if constexpr (Plain<T>) {
      bytes_.append(reinterpret_cast<const char*>(&value), sizeof value);
    } else {
      value.visit(*this);
    }
  }
  template <class T>
  void one(std::vector<T>& values) {
    auto count = static_cast<std::uint64_t>(values.size());
    one(count);
    for (T& value : values) one(value);
  }
  template <class T>
  void one(std::optional<T>& value) {
    auto present = static_cast<std::uint8_t>(value.has_value());
    one(present);
    if (value) one(*value);
  }

  std::string bytes_;
};

/// Reads what StateWriter wrote. On damage `ok()` turns false and all further
/// values stay as they are.
class StateReader {
 public:
  static constexpr bool kReads = true;

  explicit StateReader(std::string_view bytes) : rest_{bytes} {}

  /// What the saved receiver indices are in this run.
  void map_receivers(std::vector<std::uint32_t> map) { receivers_ = std::move(map); }
  void receiver(std::uint32_t& index) {
    one(index);
    if (index < receivers_.size()) {
      index = receivers_[index];
    } else {
      ok_ = false;
    }
  }

  template <class... T>
  void operator()(T&... values) {
    (one(values), ...);
  }
  bool ok() const { return ok_; }
  bool at_end() const { return rest_.empty(); }
  void fail() { ok_ = false; }

 private:
  template <class T>
  void one(T& value) {
    if constexpr (Plain<T>) {
      if (!ok_ || rest_.size() < sizeof value) {
        ok_ = false;
        return;
      }
      std::memcpy(&value, rest_.data(), sizeof value);
      rest_.remove_prefix(sizeof value);
    } else {
      value.visit(*this);
    }
  }
  template <class T>
  void one(std::vector<T>& values) {
    std::uint64_t count = 0;
    one(count);
    // Each element takes a byte at least, so a damaged count can't ask for more
    // memory than the bytes at hand are worth.
    if (!ok_ || count > rest_.size()) {
      ok_ = false;
      return;
    }
    values.assign(static_cast<std::size_t>(count), T{});
    for (T& value : values) one(value);
  }
  template <class T>
  void one(std::optional<T>& value) {
    std::uint8_t present = 0;
    one(present);
    if (!ok_) return;
    value.reset();
    if (present != 0) one(value.emplace(T{}));
  }

  std::string_view rest_;
  std::vector<std::uint32_t> receivers_;
  bool ok_ = true;
};

}  // namespace fieldfare::evidence::internal
