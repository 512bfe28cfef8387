// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slot_trial.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <memory>

#include "fieldfare/wire/body_codec.h"

namespace fieldfare::learn {
namespace {

class Nothing : public wire::ReportSink {
 public:
  void report(const wire::ReportValues& /*values*/) override { any_ = true; }
  bool took_any() { return std::exchange(any_, false); }

 private:
  bool any_ = false;
};

std::span<const std::uint8_t> octets_of(std::string_view body) {
  return {reinterpret_cast<const std::uint8_t*>(body.data()), body.size()};
}

void drop(std::size_t field, fleet::FrameFacts& frame, Described& said) {
  said.findings.push_back(
      {"field",
       Sureness::open,
       fmt::format("`{}` can't be read in many reports: left out", frame.fields[field].name),
       {},
       {}});
  frame.fields.erase(frame.fields.begin() + static_cast<std::ptrdiff_t>(field));
  said.slots.erase(said.slots.begin() + static_cast<std::ptrdiff_t>(field));
  for (Finding& finding : said.findings) {
    if (!finding.field) continue;
    if (*finding.field == field) {
      finding.field.reset();
    } else if (*finding.field > field) {
      --*finding.field;
    }
  }
}

}  // namespace

std::vector<bool> read_by(const fleet::FrameFacts& frame,
                          const std::vector<std::string_view>& bodies) {
  const auto codec = wire::make_body_codec(frame);
  Nothing sink;
  std::vector<bool> read;
  read.reserve(bodies.size());
  for (const std::string_view body : bodies) {
    const bool failed = codec->decode(octets_of(body), sink).has_value();
    read.push_back(sink.took_any() && !failed);
  }
  return read;
}

void drop_what_fails(fleet::FrameFacts& frame, Described& said,
                     const std::vector<std::string_view>& bodies) {
  constexpr std::size_t kTwentieth = 20;
  constexpr int kMostDropped = 8;
  for (int i = 0; i < kMostDropped && fleet::faults_of(frame).empty(); ++i) {
    const auto codec = wire::make_body_codec(frame);
    Nothing sink;
    std::vector<std::size_t> failed(frame.fields.size());
    for (const std::string_view body : bodies) {
      const auto error = codec->decode(octets_of(body), sink);
      if (error && error->field) ++failed[*error->field];
    }
    const auto worst = std::max_element(failed.begin(), failed.end());
    if (*worst * kTwentieth < bodies.size() || *worst == 0) return;
    drop(static_cast<std::size_t>(worst - failed.begin()), frame, said);
  }
}

}  // namespace fieldfare::learn
