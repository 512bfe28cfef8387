// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstdint>
#include <deque>
#include <future>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/learn/learn.h"
#include "fieldfare/wire/byte_log.h"

namespace fieldfare::app {

/// Learns what the bytes of a desk mean, again and again as more comes in, on a
/// thread of its own so that the list goes on meanwhile. It takes a growing pause
/// between two tries: a tenth more bytes, or something that was said.
class DeskLearner {
 public:
  using Steady = std::chrono::steady_clock;
  /// Of one source, from its beginning and from its end; what lies between is left out.
  static constexpr std::size_t kMostAtEachEnd = 3000;

  void take(const wire::LoggedBytes& logged);
  void label(std::string digits);
  void provoked(learn::Provoked provoked);
  void value(learn::InstrumentValue value);

  /// Begins to learn where it is time to, and gives what has been learnt since.
  std::optional<learn::Learnt> turn(Steady::time_point now);

  /// Nothing is being learnt, and nothing new has come to learn from.
  bool is_idle() const { return !learning_ && !has_news(); }

 private:
  struct OfSource {
    std::vector<learn::Arrival> first;
    std::deque<learn::Arrival> last;
    std::uint64_t octets = 0;
  };

  bool has_news() const;
  learn::Sample sample() const;

  std::map<std::string, OfSource> sources_;
  learn::Sample hints_;  ///< without arrivals
  std::uint64_t octets_ = 0;
  std::uint64_t octets_learnt_ = 0;  ///< of them, when learning began last
  bool has_new_hints_ = false;
  std::optional<std::future<learn::Learnt>> learning_;
  Steady::time_point began_{};
  Steady::time_point not_before_{};
};

}  // namespace fieldfare::app
