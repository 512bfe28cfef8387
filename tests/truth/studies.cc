// SPDX-License-Identifier: Apache-2.0
#include "studies.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <iterator>
#include <string>
#include <string_view>
#include <thread>

#include "dice.h"

namespace fieldfare::truth {
namespace {

constexpr std::size_t kBatch = 50;  // logs in memory at a time

struct NamedLoss {
  std::string name;
  Loss loss;
};

std::string percent(double share) { return std::to_string(std::lround(share * 100)) + "pct"; }

NamedLoss independent(double share) {
  return {"independent-" + percent(share), Loss::independent(share)};
}

NamedLoss bursty(double share, int mean_run) {
  return {"runs-of-" + std::to_string(mean_run) + "-" + percent(share),
          Loss::bursty(share, mean_run)};
}

/// A node with the ordinary jitter of both kinds, begun so that its counter wraps
/// halfway through the log.
Setting ordinary(const Loss& loss, std::size_t reports, unsigned bits) {
  Setting setting;
  setting.reports = reports;
  setting.counter_bits = bits;
  setting.losses = {loss};
  setting.white_jitter = 0.003;
  setting.accumulating_jitter = 0.0005;
  const std::uint64_t turn = std::uint64_t{1} << bits;
  setting.first_counter = (turn - (reports / 2) % turn) % turn;
  return setting;
}

std::string sized(const std::string& name, std::size_t reports, unsigned bits) {
  return name + "/n-" + std::to_string(reports) + "/" + std::to_string(bits) + "-bit";
}

Study counting_study(std::string name, Setting setting) {
  Study study{std::move(name), std::move(setting)};
  study.asks_delivery = true;
  study.asks_counts = true;
  return study;
}

void add_delivery_grid(std::vector<Study>& studies) {
  std::vector<NamedLoss> losses = {{"no-loss", Loss{}}};
  for (const double share : {0.01, 0.03, 0.1, 0.2, 0.4, 0.6}) {
    losses.push_back(independent(share));
    for (const int mean_run : {2, 4, 8}) losses.push_back(bursty(share, mean_run));
  }
  for (const auto& [name, loss] : losses) {
    for (const std::size_t reports : {100U, 300U, 1000U, 3000U}) {
      for (const unsigned bits : {8U, 16U}) {
        studies.push_back(
            counting_study(sized(name, reports, bits), ordinary(loss, reports, bits)));
      }
    }
  }
}

void restart(Setting& setting, std::size_t resets) {
  setting.random_resets = resets;
  setting.first_counter.reset();
}

struct Variation {
  std::string name;
  void (*apply)(Setting&);
};

const std::vector<Variation>& variations() {
  static const std::vector<Variation> all = {
      {"1-reset", [](Setting& s) { restart(s, 1); }},
      {"2-resets", [](Setting& s) { restart(s, 2); }},
      {"3-resets", [](Setting& s) { restart(s, 3); }},
      {"duplicates", [](Setting& s) { s.duplicates = 0.05; }},
      {"two-receivers", [](Setting& s) { s.losses.push_back(s.losses[0]); }},
      {"two-receivers-one-fate",
       [](Setting& s) {
         s.losses.push_back(s.losses[0]);
         s.one_fate = true;
       }},
      {"disorder",
       [](Setting& s) {
         s.shuffle_window = 30;
         s.late = {3, 20, 100};
       }},
      {"all-of-it",
       [](Setting& s) {
         restart(s, 2);
         s.losses.push_back(s.losses[0]);
         s.one_fate = true;
         s.duplicates = 0.05;
         s.shuffle_window = 30;
         s.late = {3, 20, 100};
       }},
  };
  return all;
}

void add_variations(std::vector<Study>& studies) {
  for (const auto& [name, loss] : {independent(0.03), independent(0.1), independent(0.4),
                                   bursty(0.03, 4), bursty(0.1, 4), bursty(0.4, 4)}) {
    for (const std::size_t reports : {300U, 1000U}) {
      for (const unsigned bits : {8U, 16U}) {
        for (const Variation& variation : variations()) {
          Setting setting = ordinary(loss, reports, bits);
          variation.apply(setting);
          studies.push_back(
              counting_study(sized(name, reports, bits) + "/" + variation.name, setting));
        }
      }
    }
  }
}

struct Jitter {
  std::string name;
  double white = 0;
  double accumulating = 0;
};

void add_interval_grid(std::vector<Study>& studies) {
  const std::vector<Jitter> jitters = {{"white-0.1pct", 0.001, 0},
                                       {"white-1pct", 0.01, 0},
                                       {"white-5pct", 0.05, 0},
                                       {"accumulating-0.1pct", 0, 0.001},
                                       {"accumulating-1pct", 0, 0.01},
                                       {"accumulating-5pct", 0, 0.05},
                                       {"mixed-1pct-0.1pct", 0.01, 0.001},
                                       {"mixed-1pct-1pct", 0.01, 0.01},
                                       {"mixed-5pct-0.1pct", 0.05, 0.001},
                                       {"mixed-5pct-1pct", 0.05, 0.01},
                                       {"mixed-0.1pct-0.02pct", 0.001, 2e-4}};
  for (const Jitter& jitter : jitters) {
    for (const std::size_t reports : {200U, 500U, 2000U}) {
      Setting setting = ordinary(Loss::independent(0.05), reports, 16);
      setting.white_jitter = jitter.white;
      setting.accumulating_jitter = jitter.accumulating;
      Study study{jitter.name + "/n-" + std::to_string(reports), setting};
      study.asks_interval = true;
      studies.push_back(study);
    }
  }
}

void add_restart_grid(std::vector<Study>& studies) {
  for (const auto& [name, loss] :
       {NamedLoss{"no-loss", Loss{}}, independent(0.01), independent(0.03), independent(0.1),
        independent(0.2), bursty(0.03, 4), bursty(0.1, 4), bursty(0.2, 4), independent(0.4)}) {
    for (const unsigned bits : {8U, 16U}) {
      Setting setting = ordinary(loss, 1000, bits);
      setting.first_counter.reset();
      setting.reset_rate = 0.003;
      studies.push_back(
          counting_study(sized(name, setting.reports, bits) + "/resets-by-rate", setting));
      setting.reset_rate = 0;
      setting.standstills = {{300, 500}, {700, 5000}};
      Study asleep{sized(name, setting.reports, bits) + "/standstills", setting};
      asleep.asks_counts = true;
      studies.push_back(asleep);
      setting.standstills.clear();
      setting.strays = 0.005;
      Study strays{sized(name, setting.reports, bits) + "/strays", setting};
      strays.asks_strays = true;
      studies.push_back(strays);
    }
  }
}

void add_changes(std::vector<Study>& studies) {
  const std::vector<Jitter> jitters = {
      {"quiet", 0.001, 0.0001}, {"white-1pct", 0.01, 0}, {"accumulating-0.5pct", 0, 0.005}};
  for (const double percents : {5, 7, 10, 25, 50, -5, -7, -10, -25, -50}) {
    for (const Jitter& jitter : jitters) {
      for (const auto& [name, loss] : {independent(0.05), bursty(0.1, 4)}) {
        Setting setting = ordinary(loss, 450, 16);
        setting.white_jitter = jitter.white;
        setting.accumulating_jitter = jitter.accumulating;
        setting.changes = {{150, 1 + percents / 100}};
        std::string study = percents > 0 ? "slower-by-" : "faster-by-";
        study += percent(std::abs(percents) / 100);
        study += "/" + jitter.name;
        study += "/" + name;
        studies.push_back({study, setting});
      }
    }
  }
}

void add_unchanged(std::vector<Study>& studies) {
  const std::vector<Jitter> jitters = {
      {"white-5pct", 0.05, 0}, {"white-10pct", 0.1, 0}, {"accumulating-0.5pct", 0, 0.005}};
  for (const Jitter& jitter : jitters) {
    for (const auto& [name, loss] : {independent(0.05), bursty(0.2, 4)}) {
      Setting setting = ordinary(loss, 1000, 16);
      setting.white_jitter = jitter.white;
      setting.accumulating_jitter = jitter.accumulating;
      studies.push_back({"unchanged/" + jitter.name + "/" + name, setting});
    }
  }
}

/// FNV-1a, 64 bit (offset and prime from memory): a study keeps its logs when
/// others are added.
std::uint64_t seed_of(std::string_view name) {
  std::uint64_t hash = 0xcbf29ce484222325;
  for (const char c : name) {
    hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3;
  }
  return hash;
}

}  // namespace

std::vector<Study> all_studies() {
  std::vector<Study> studies;
  add_delivery_grid(studies);
  add_variations(studies);
  add_interval_grid(studies);
  add_restart_grid(studies);
  add_changes(studies);
  add_unchanged(studies);
  return studies;
}

std::vector<Judged> judge_in_process(const std::vector<Log>& logs, const Facts& facts) {
  std::vector<Judged> judged;
  judged.reserve(logs.size());
  for (const Log& log : logs) judged.push_back(judge_log(log.rows, facts));
  return judged;
}

std::vector<Figure> measured(const Study& study, std::size_t logs, const Judge& judge) {
  Tally tally{study};
  Setting setting = study.setting;
  const Facts facts{setting.counter_bits, setting.interval_s};
  std::uint64_t seeds = seed_of(study.name);
  for (std::size_t done = 0; done < logs; done += kBatch) {
    std::vector<Log> batch;
    for (std::size_t i = done; i < std::min(done + kBatch, logs); ++i) {
      setting.seed = splitmix64(seeds);
      batch.push_back(generate(setting));
    }
    const std::vector<Judged> judged = judge(batch, facts);
    for (std::size_t i = 0; i < batch.size(); ++i) tally.add(batch[i], judged[i]);
    if (setting.changes.empty()) continue;
    std::vector<Log> early;
    std::ranges::transform(batch, std::back_inserter(early), shortened);
    const std::vector<Judged> judged_early = judge(early, facts);
    for (std::size_t i = 0; i < early.size(); ++i) tally.add_short(early[i], judged_early[i]);
  }
  return tally.figures();
}

std::vector<Figure> measured(const std::vector<Study>& studies, std::size_t logs,
                             const Judge& judge) {
  std::vector<std::vector<Figure>> by_study(studies.size());
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < studies.size(); i = next++) {
      by_study[i] = measured(studies[i], logs, judge);
    }
  };
  {
    std::vector<std::jthread> others;
    for (unsigned i = 1; i < std::thread::hardware_concurrency(); ++i) others.emplace_back(work);
    work();
  }
  std::vector<Figure> figures;
  for (const auto& some : by_study) figures.insert(figures.end(), some.begin(), some.end());
  const std::vector<Figure> together = pooled(figures);
  figures.insert(figures.end(), together.begin(), together.end());
  return figures;
}

std::vector<Figure> pooled(const std::vector<Figure>& figures) {
  std::vector<Figure> pools;
  for (const Figure& figure : figures) {
    if (!figure.limits || figure.unit != "share") continue;
    auto pool = std::ranges::find(pools, figure.measure, &Figure::measure);
    if (pool == pools.end()) {
      pools.push_back({figure.measure, "all", 0, "share", 0, 0, figure.limits});
      pool = std::prev(pools.end());
    }
    pool->hits += figure.hits;
    pool->trials += figure.trials;
    pool->value = static_cast<double>(pool->hits) / static_cast<double>(pool->trials);
  }
  return pools;
}

}  // namespace fieldfare::truth
