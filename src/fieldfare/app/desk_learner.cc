// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_learner.h"

#include <algorithm>
#include <utility>

namespace fieldfare::app {
namespace {

using std::chrono::milliseconds;

constexpr milliseconds kLeastPause{500};

bool has_octets(wire::ByteEvent event) {
  return event == wire::ByteEvent::stream || event == wire::ByteEvent::message ||
         event == wire::ByteEvent::waited;
}

}  // namespace

void DeskLearner::take(const wire::LoggedBytes& logged) {
  if (!has_octets(logged.event) || logged.octets.empty()) return;
  OfSource& source = sources_[logged.receiver];
  source.octets += logged.octets.size();
  octets_ += logged.octets.size();
  learn::Arrival arrival{logged.at, logged.octets, logged.event != wire::ByteEvent::stream,
                         logged.topic};
  if (source.first.size() < kMostAtEachEnd) {
    source.first.push_back(std::move(arrival));
    return;
  }
  source.last.push_back(std::move(arrival));
  if (source.last.size() > kMostAtEachEnd) source.last.pop_front();
}

void DeskLearner::label(std::string digits) {
  const auto& known = hints_.labels;
  if (std::find(known.begin(), known.end(), digits) != known.end()) return;
  hints_.labels.push_back(std::move(digits));
  has_new_hints_ = true;
}

void DeskLearner::provoked(learn::Provoked provoked) {
  hints_.provoked.push_back(std::move(provoked));
  has_new_hints_ = true;
}

void DeskLearner::value(learn::InstrumentValue value) {
  hints_.values.push_back(std::move(value));
  has_new_hints_ = true;
}

bool DeskLearner::has_news() const {
  if (octets_ == 0) return false;
  return has_new_hints_ || octets_ >= octets_learnt_ + octets_learnt_ / 10 + 1;
}

/// Of the source that says most: two streams woven together would be none.
learn::Sample DeskLearner::sample() const {
  learn::Sample sample = hints_;
  const auto most = std::max_element(
      sources_.begin(), sources_.end(),
      [](const auto& a, const auto& b) { return a.second.octets < b.second.octets; });
  sample.arrivals = most->second.first;
  sample.arrivals.insert(sample.arrivals.end(), most->second.last.begin(), most->second.last.end());
  return sample;
}

std::optional<learn::Learnt> DeskLearner::turn(Steady::time_point now) {
  if (learning_) {
    if (learning_->wait_for(milliseconds{0}) != std::future_status::ready) return std::nullopt;
    learn::Learnt learnt = learning_->get();
    learning_.reset();
    not_before_ = now + std::max<Steady::duration>(kLeastPause, 2 * (now - began_));
    return learnt;
  }
  if (now < not_before_ || !has_news()) return std::nullopt;
  began_ = now;
  octets_learnt_ = octets_;
  has_new_hints_ = false;
  learning_ = std::async(std::launch::async, [sample = sample()] { return learn::learn(sample); });
  return std::nullopt;
}

}  // namespace fieldfare::app
