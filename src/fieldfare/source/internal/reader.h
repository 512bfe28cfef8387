// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <span>
#include <string>

#include "fieldfare/source/internal/asio.h"
#include "fieldfare/source/source.h"

namespace fieldfare::source {

/// What the sources without acknowledgements have in common: tickets, conditions
/// that are told once, growing intervals between attempts, pauses.
///
/// All functions of it run in the loop, but for settle(), pause() and resume().
class Reader : public Source, public std::enable_shared_from_this<Reader> {
 public:
  Reader(Setting setting, Loop& loop, Sink& sink);
  ~Reader() override = default;
  Reader(const Reader&) = delete;
  Reader& operator=(const Reader&) = delete;

  void start() final;
  void stop() final;
  void settle(std::uint64_t) final {}
  void pause() final;
  void resume() final;

 protected:
  /// Gets hold of what is read from; at a failure tells down() and asks for
  /// try_again().
  virtual void open() = 0;
  virtual void close() = 0;
  /// Takes what there is and waits for more. After resume() as well, when it may
  /// be waiting already or have nothing open.
  virtual void go_on() = 0;

  Loop& loop() { return loop_; }
  const Setting& setting() const { return setting_; }
  bool paused() const { return paused_; }
  bool stopped() const { return stopped_; }

  void hand_over(std::span<const std::uint8_t> octets, bool whole, std::uint64_t mark);
  void overrun(const std::string& what) { sink_.overrun(setting_.clock(), what); }

  /// `goes_on`: what comes joins what came before.
  void up(std::string what, bool goes_on = false);
  /// Up as before, but what comes doesn't join what came; told every time.
  void begins_anew(std::string what);
  void down(std::string what, std::string remedy);
  void ended(std::string what);

  /// open() again after an interval that grows from attempt to attempt, until
  /// something is handed over.
  void try_again();
  /// go_on() when the loop has served others.
  void go_on_later();

 private:
  void tell_once(Condition condition, std::string what, std::string remedy);
  bool has_told(Condition condition, const std::string& what) const;
  void tell(Change change);

  Setting setting_;
  Loop& loop_;
  Sink& sink_;
  asio::steady_timer retry_;
  std::chrono::milliseconds interval_;
  std::uint64_t ticket_ = 0;
  Change told_;
  bool told_any_ = false;
  bool paused_ = false;
  bool stopped_ = true;
};

/// A relative name starts at the setting's base folder.
std::string resolved(const Setting& setting, const std::string& path);

/// The source as its user holds it: stopped when it is let go, while what the
/// loop still holds of it goes when it gets there.
std::unique_ptr<Source> held(std::shared_ptr<Reader> reader);

}  // namespace fieldfare::source
