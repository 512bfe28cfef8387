// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

namespace fieldfare::evidence::internal {

/// Consecutive numbers that nobody heard, between two that were heard.
struct Gap {
  std::int64_t from_ns = 0;  ///< the last heard before
  std::int64_t to_ns = 0;    ///< the first heard afterwards
  std::uint64_t missed = 0;

  template <class Archive>
  void visit(Archive& archive) {
    archive(from_ns, to_ns, missed);
  }
};

/// Counts the transitions between heard and missed along a counter, and keeps
/// the longest gaps, because a receiver's silence may explain them later.
class LossFold {
 public:
  /// How many gaps are kept: more than two a day for a year.
  static constexpr std::size_t kMostGaps = 1024;

  void heard(std::int64_t time_ns) {
    if (missed_ > 0) {
      ++good_bad_;
      ++bad_good_;
      bad_bad_ += missed_ - 1;
      keep({last_heard_ns_, time_ns, missed_});
      missed_ = 0;
    } else if (in_run_) {
      ++good_good_;
    }
    in_run_ = true;
    last_heard_ns_ = time_ns;
  }
  /// Numbers that nobody heard. A run begins and ends with a number heard.
  void missed(std::uint64_t numbers) { missed_ += numbers; }

  void end_run() {
    in_run_ = false;
    missed_ = 0;
  }

  std::uint64_t good_good() const { return good_good_; }
  std::uint64_t good_bad() const { return good_bad_; }
  std::uint64_t bad_good() const { return bad_good_; }
  std::uint64_t bad_bad() const { return bad_bad_; }

  /// The gaps kept, in order of time.
  std::vector<Gap> gaps() const {
    std::vector<Gap> sorted = gaps_;
    std::sort(sorted.begin(), sorted.end(),
              [](const Gap& a, const Gap& b) { return a.from_ns < b.from_ns; });
    return sorted;
  }

  template <class Archive>
  void visit(Archive& archive) {
    archive(good_good_, good_bad_, bad_good_, bad_bad_, missed_, last_heard_ns_, in_run_, gaps_);
  }

 private:
  /// A total order, so that which gaps are kept doesn't depend on anything else.
  static bool longer(const Gap& a, const Gap& b) {
    return a.missed != b.missed ? a.missed > b.missed : a.from_ns < b.from_ns;
  }
  void keep(const Gap& gap) {
    if (gaps_.size() == kMostGaps) {
      if (!longer(gap, gaps_.front())) return;
      std::pop_heap(gaps_.begin(), gaps_.end(), longer);
      gaps_.pop_back();
    }
    gaps_.push_back(gap);
    std::push_heap(gaps_.begin(), gaps_.end(), longer);
  }

  std::uint64_t good_good_ = 0;
  std::uint64_t good_bad_ = 0;
  std::uint64_t bad_good_ = 0;
  std::uint64_t bad_bad_ = 0;
  std::uint64_t missed_ = 0;
  std::int64_t last_heard_ns_ = 0;
  bool in_run_ = false;
  std::vector<Gap> gaps_;  ///< a heap with the shortest in front
};

}  // namespace fieldfare::evidence::internal
