// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/cutting.h"

#include <algorithm>
#include <map>

#include "fieldfare/wire/deframer.h"

namespace fieldfare::learn {
namespace {

using Span = std::span<const std::uint8_t>;

class Collector final : public wire::FrameSink {
 public:
  explicit Collector(Cut& out) : out_{out} {}

  void begin(const Run& run) {
    run_ = &run;
    at_ = 0;
  }
  void frame(Span octets, std::size_t taken) override {
    const bool leads = run_->begins_arrival(at_);
    at_ += taken;
    out_.frames.push_back({{octets.begin(), octets.end()}, taken, run_->came_at(at_ - 1), leads});
  }
  void lost(wire::StreamFault /*fault*/, Span /*octets*/, std::size_t taken) override {
    at_ += taken;
    out_.lost += taken;
    ++out_.stretches;
  }

 private:
  Cut& out_;
  const Run* run_ = nullptr;
  std::size_t at_ = 0;
};

/// The number in front of a frame that begins here; nothing where it is cut off.
std::optional<std::int64_t> said_length(const fleet::LengthPrefix& prefix, Span rest) {
  const auto at = static_cast<std::size_t>(prefix.at);
  const auto width = static_cast<std::size_t>(prefix.octets);
  if (rest.size() < at + width) return std::nullopt;
  std::int64_t number = 0;
  for (std::size_t i = 0; i < width; ++i) {
    const bool is_big = prefix.order == fleet::ByteOrder::big;
    number = number << 8 | rest[at + (is_big ? i : width - 1 - i)];
  }
  return number + prefix.adds;
}

std::optional<std::size_t> prefixed_frame(const fleet::FrameFacts& facts, Span rest,
                                          std::span<const std::size_t> lengths) {
  const bool starts = rest.size() >= facts.start.size() &&
                      std::equal(facts.start.begin(), facts.start.end(), rest.begin());
  if (!starts) return std::nullopt;
  const std::optional<std::int64_t> said = said_length(*facts.prefix, rest);
  if (!said || *said <= 0 || *said > static_cast<std::int64_t>(rest.size())) return std::nullopt;
  const auto length = static_cast<std::size_t>(*said);
  if (std::find(lengths.begin(), lengths.end(), length) == lengths.end()) return std::nullopt;
  return length;
}

}  // namespace

Cut cut(const Runs& runs, const fleet::FrameFacts& facts) {
  Cut out;
  Collector collector{out};
  const auto deframer = wire::make_deframer(facts);
  for (const Run& run : runs.runs) {
    collector.begin(run);
    deframer->feed(run.octets, collector);
    deframer->finish(collector);
  }
  return out;
}

Cut cut_by_lengths(const Runs& runs, const fleet::FrameFacts& facts,
                   std::span<const std::size_t> lengths) {
  Cut out;
  for (const Run& run : runs.runs) {
    bool was_lost = false;
    for (std::size_t at = 0; at < run.octets.size();) {
      const Span rest = Span{run.octets}.subspan(at);
      const std::optional<std::size_t> length = prefixed_frame(facts, rest, lengths);
      if (length) {
        const Span frame = rest.first(*length);
        const bool leads = run.begins_arrival(at);
        at += *length;
        out.frames.push_back({{frame.begin(), frame.end()}, *length, run.came_at(at - 1), leads});
      } else {
        out.stretches += was_lost ? 0 : 1;
        ++out.lost;
        ++at;
      }
      was_lost = !length;
    }
  }
  return out;
}

std::size_t usual_length(const Cut& cut) {
  std::map<std::size_t, std::size_t> counts;
  for (const CutFrame& frame : cut.frames) ++counts[frame.octets.size()];
  const auto most =
      std::max_element(counts.begin(), counts.end(),
                       [](const auto& a, const auto& b) { return a.second < b.second; });
  return most == counts.end() ? 0 : most->first;
}

}  // namespace fieldfare::learn
