// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/loop.h"

#include <algorithm>
#include <cassert>
#include <chrono>
#include <csignal>
#include <utility>

#include "fieldfare/source/internal/asio.h"

namespace fieldfare::source {
namespace {

using Period = std::chrono::nanoseconds;

void arm(asio::steady_timer& timer, Period period, std::function<void()> task) {
  // In step with the first beat; but beats that were slept through are not
  // made up for.
  timer.expires_at(std::max(timer.expiry() + period, asio::steady_timer::clock_type::now()));
  timer.async_wait([&timer, period, task = std::move(task)](const asio::error_code& error) mutable {
    if (error) return;
    task();
    arm(timer, period, std::move(task));
  });
}

}  // namespace

Loop::Loop() : impl_{std::make_unique<Impl>()} {}
Loop::~Loop() = default;

void Loop::run() { impl_->io.run(); }

void Loop::stop() { impl_->io.stop(); }

void Loop::post(std::function<void()> task) { asio::post(impl_->io, std::move(task)); }

void Loop::every(Duration period, std::function<void()> task) {
  assert(period.ns > 0);
  asio::steady_timer& timer =
      *impl_->timers.emplace_back(std::make_unique<asio::steady_timer>(impl_->io));
  timer.expires_at(asio::steady_timer::clock_type::now());
  arm(timer, Period{period.ns}, std::move(task));
}

void Loop::on_end_signal(std::function<void()> task) {
  asio::signal_set& signals = impl_->end_signals;
  asio::error_code already_there;
  signals.add(SIGINT, already_there);
  signals.add(SIGTERM, already_there);
  signals.async_wait([&signals, task = std::move(task)](const asio::error_code& error, int) {
    if (error) return;
    // Whoever asks twice does not want to wait: then the process just ends.
    asio::error_code nothing_to_clear;
    signals.clear(nothing_to_clear);
    task();
  });
}

}  // namespace fieldfare::source
