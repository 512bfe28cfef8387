// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/phase_noise.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "fieldfare/base/random.h"
#include "fieldfare/stats/line.h"

namespace fieldfare::stats {
namespace {

// Upper 2.5 % point of Student's distribution with 198 degrees of freedom (handbook
// tables give 1.972 for 200; from memory).
constexpr double kStudent198 = 1.972;
constexpr std::size_t kReports = 200;

struct Noise {
  double white_s;
  double walk_s;  ///< of each step
};

/// Phases of a beat `pace_s` slower a number than the reference.
std::vector<PhaseBlock> reports(std::size_t count, double pace_s, Noise noise,
                                RandomStream& random) {
  std::vector<PhaseBlock> result;
  double walk = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const auto number = static_cast<double>(i);
    const double phase = pace_s * number + walk + noise.white_s * random.normal();
    result.push_back({.number = number, .phase_s = phase, .count = 1, .span = 0});
    walk += noise.walk_s * random.normal();
  }
  return result;
}

/// The same in blocks of `size` reports.
std::vector<PhaseBlock> in_blocks(const std::vector<PhaseBlock>& single, std::size_t size) {
  std::vector<PhaseBlock> result;
  for (std::size_t i = 0; i + size <= single.size(); i += size) {
    PhaseBlock block{.number = 0,
                     .phase_s = 0,
                     .count = static_cast<double>(size),
                     .span = static_cast<double>(size - 1)};
    for (std::size_t j = i; j < i + size; ++j) {
      block.number += single[j].number / block.count;
      block.phase_s += single[j].phase_s / block.count;
    }
    result.push_back(block);
  }
  return result;
}

double width(const PaceOffset& pace) { return pace.high_s - pace.low_s; }

TEST(PaceOffset, OfWhiteNoiseIsTheLeastSquaresSlopeAndLittleWider) {
  // That the walk is small has to be learned from the same phases, so the interval
  // may be wider than the line fit's; never narrower by more than a few per cent.
  // Ordinary least squares: fit_line, checked against NIST StRD Norris.
  RandomStream random{1, "white"};
  double widths = 0;
  constexpr int kTrials = 50;
  for (int i = 0; i < kTrials; ++i) {
    const auto phases = reports(kReports, 0.002, {.white_s = 0.5, .walk_s = 0}, random);
    std::vector<double> x;
    std::vector<double> y;
    for (const PhaseBlock& phase : phases) {
      x.push_back(phase.number);
      y.push_back(phase.phase_s);
    }
    const LineFit line = fit_line(x, y);
    const auto pace = pace_offset(phases, 0.95);
    ASSERT_TRUE(pace);
    EXPECT_NEAR(pace->offset_s, line.slope, line.slope_sd) << i;
    const double ratio = width(*pace) / (2 * kStudent198 * line.slope_sd);
    EXPECT_GT(ratio, 0.95) << i;
    EXPECT_LT(ratio, 4) << i;
    widths += ratio;
  }
  EXPECT_LT(widths / kTrials, 1.5);
}

TEST(PaceOffset, OfARandomWalkIsThePaceFromEndToEnd) {
  // For a pure walk the steps are independent, so their mean is the best estimate
  // and s t / sqrt(n) its interval: textbook. Where chance makes the phases look a
  // little white the interval is narrower by some per cent.
  RandomStream random{2, "walk"};
  for (int i = 0; i < 20; ++i) {
    const auto phases = reports(kReports, -0.01, {.white_s = 0, .walk_s = 0.2}, random);
    const double steps = kReports - 1;
    const double mean = (phases.back().phase_s - phases.front().phase_s) / steps;
    double squares = 0;
    for (std::size_t k = 1; k < phases.size(); ++k) {
      squares += std::pow(phases[k].phase_s - phases[k - 1].phase_s - mean, 2);
    }
    const double error = std::sqrt(squares / (steps - 1) / steps);
    const auto pace = pace_offset(phases, 0.95);
    ASSERT_TRUE(pace);
    EXPECT_NEAR(pace->offset_s, mean, 0.05 * error) << i;
    EXPECT_NEAR(width(*pace) / (2 * kStudent198 * error), 1, 0.1) << i;
  }
}

TEST(PaceOffset, OfBlocksAgreesWithThatOfTheReportsInThem) {
  // Down to 256 blocks; fewer know less of how white the noise is, and so differ more.
  RandomStream random{3, "blocks"};
  const Noise noises[] = {{0.5, 0}, {0, 0.2}, {0.5, 0.05}};
  for (const Noise& noise : noises) {
    const auto phases = reports(4096, 0.003, noise, random);
    const auto single = pace_offset(phases, 0.95);
    ASSERT_TRUE(single);
    for (const std::size_t size : {2U, 4U, 16U}) {
      const auto blocks = pace_offset(in_blocks(phases, size), 0.95);
      ASSERT_TRUE(blocks);
      EXPECT_NEAR(blocks->offset_s, single->offset_s, 0.15 * width(*single)) << size;
      EXPECT_NEAR(width(*blocks) / width(*single), 1, 0.25) << size;
    }
  }
}

TEST(PaceOffset, BearsALongGapAnywhereInABlock) {
  // Found 2026-11: a node of 1,500 reports whose listener had been off for an hour.
  constexpr std::size_t kSize = 16;
  constexpr double kPace = 1e-3;
  for (std::size_t before = 1; before < kSize; ++before) {
    RandomStream random{before, "gap"};
    std::vector<PhaseBlock> single = reports(640, kPace, {0.01, 0}, random);
    for (std::size_t i = 320 + before; i < single.size(); ++i) {
      single[i].number += 5000;
      single[i].phase_s += kPace * 5000;
    }
    std::vector<PhaseBlock> blocks = in_blocks(single, kSize);
    blocks[320 / kSize].span += 5000;
    const auto pace = pace_offset(blocks, 0.99);
    ASSERT_TRUE(pace);
    EXPECT_LT(pace->low_s, kPace) << before;
    EXPECT_GT(pace->high_s, kPace) << before;
    EXPECT_LT(width(*pace), 1e-4) << before;
  }
}

TEST(PaceOffset, DoesNotCareHowFarThePhaseBreaksBetweenSegments) {
  RandomStream random{4, "segments"};
  auto phases = reports(kReports, 0.001, {.white_s = 0.1, .walk_s = 0.02}, random);
  phases[80].starts_segment = true;
  phases[150].starts_segment = true;
  const auto before = pace_offset(phases, 0.95);
  for (std::size_t i = 80; i < phases.size(); ++i) phases[i].phase_s += i < 150 ? 1000 : -4096;
  const auto after = pace_offset(phases, 0.95);
  ASSERT_TRUE(before && after);
  // Only the rounding of larger phases: 4096 s to 2^-41 s.
  EXPECT_NEAR(after->offset_s, before->offset_s, 1e-9);
  EXPECT_NEAR(after->low_s, before->low_s, 1e-9);
  EXPECT_NEAR(after->high_s, before->high_s, 1e-9);
}

TEST(PaceOffset, MovesWithThePaceAndScalesWithTheUnit) {
  RandomStream random{5, "shift"};
  const auto phases = reports(kReports, 0, {.white_s = 0.1, .walk_s = 0.05}, random);
  auto moved = phases;
  for (PhaseBlock& phase : moved) phase.phase_s = 8 * phase.phase_s + 0.5 * phase.number + 3;
  const auto before = pace_offset(phases, 0.9);
  const auto after = pace_offset(moved, 0.9);
  ASSERT_TRUE(before && after);
  EXPECT_NEAR(after->offset_s, 8 * before->offset_s + 0.5, 1e-9);
  EXPECT_NEAR(width(*after), 8 * width(*before), 1e-9);
}

TEST(PaceOffset, IsNothingWhereNoNoiseCanBeToldFromPace) {
  EXPECT_FALSE(pace_offset({}, 0.95));
  RandomStream random{6, "few"};
  auto phases = reports(2, 0, {.white_s = 0.1, .walk_s = 0}, random);
  EXPECT_FALSE(pace_offset(phases, 0.95));
  phases = reports(3, 0, {.white_s = 0.1, .walk_s = 0}, random);
  EXPECT_TRUE(pace_offset(phases, 0.95));
  phases[1].starts_segment = true;
  EXPECT_FALSE(pace_offset(phases, 0.95));
}

TEST(PaceOffset, IsSureOfAPerfectBeat) {
  std::vector<PhaseBlock> phases;
  phases.reserve(50);
  for (int i = 0; i < 50; ++i) {
    phases.push_back(
        {.number = static_cast<double>(i), .phase_s = 0.25 * i, .count = 1, .span = 0});
  }
  const auto pace = pace_offset(phases, 0.95);
  ASSERT_TRUE(pace);
  EXPECT_NEAR(pace->offset_s, 0.25, 1e-9);
  EXPECT_LT(width(*pace), 1e-9);
  EXPECT_LE(pace->low_s, 0.25);
  EXPECT_GE(pace->high_s, 0.25);
}

TEST(PaceOffset, IntervalWidensWithConfidence) {
  RandomStream random{7, "confidence"};
  const auto phases = reports(kReports, 0, {.white_s = 0.1, .walk_s = 0.01}, random);
  double before = 0;
  for (const double confidence : {0.5, 0.8, 0.95, 0.99}) {
    const auto pace = pace_offset(phases, confidence);
    ASSERT_TRUE(pace);
    EXPECT_GT(width(*pace), before);
    before = width(*pace);
  }
}

}  // namespace
}  // namespace fieldfare::stats
