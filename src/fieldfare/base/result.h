// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cassert>
#include <utility>
#include <variant>

namespace fieldfare {

/// Wraps an error on its way into a Result: `return Failure{complaint};`
template <class E>
struct Failure {
  E error;
};
template <class E>
Failure(E) -> Failure<E>;

/// A value, or the reason why there is none. Member names follow
/// std::expected (C++23), to which this can give way later.
///
/// Asking for the value of a failed result is a bug in the caller (asserted).
template <class T, class E>
class [[nodiscard]] Result {
 public:
  Result(T value) : state_{std::in_place_index<0>, std::move(value)} {}
  Result(Failure<E> failure) : state_{std::in_place_index<1>, std::move(failure.error)} {}

  bool has_value() const { return state_.index() == 0; }
  explicit operator bool() const { return has_value(); }

  T& value() & {
    assert(has_value());
    return *std::get_if<0>(&state_);
  }
  const T& value() const& {
    assert(has_value());
    return *std::get_if<0>(&state_);
  }
  T&& value() && {
    assert(has_value());
    return std::move(*std::get_if<0>(&state_));
  }
  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T&& operator*() && { return std::move(*this).value(); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }

  const E& error() const {
    assert(!has_value());
    return *std::get_if<1>(&state_);
  }

 private:
  std::variant<T, E> state_;
};

}  // namespace fieldfare
