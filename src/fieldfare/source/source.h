// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/endpoint.h"

namespace fieldfare::source {

class Loop;

/// Tells the time; passed in so that tests can.
using Clock = std::function<Instant()>;

/// Something that came in.
struct Arrival {
  Instant at;                            ///< when it reached us
  std::span<const std::uint8_t> octets;  ///< valid during the call
  bool whole = false;                    ///< a datagram or a message: begins and ends here
  std::string_view topic;                ///< of a message; empty elsewhere
  bool held_back = false;  ///< of a message: it waited at the broker while nobody was connected
  /// Counts what one source handed over, from 1 on, without gaps.
  std::uint64_t ticket = 0;
  /// What the source must be told at its next start to go on behind this: the
  /// place in a file, the identity of a message. 0: it needs nothing.
  std::uint64_t mark = 0;
};

enum class Condition : std::uint8_t {
  up,     ///< listening
  down,   ///< not listening, and trying to
  ended,  ///< nothing more will come
};

/// A source's condition changed, or the reason of being down did.
struct Change {
  Instant at;
  Condition condition = Condition::down;
  std::string what;      ///< for people: `the port is gone`
  std::string remedy;    ///< what to do about it; may be empty
  bool goes_on = false;  ///< what comes joins what came before, in this run or an earlier one
};

/// Takes what a source has. Called on the thread that runs the loop.
class Sink {
 public:
  virtual ~Sink() = default;
  virtual void take(const Arrival& arrival) = 0;
  virtual void change(const Change& change) = 0;
  /// A message that was handed over before came again, and was left out.
  virtual void repeated(Instant at, std::size_t octets) = 0;
  /// Bytes that were lost outside: the system's buffer overran.
  virtual void overrun(Instant at, const std::string& what) = 0;
};

/// Marks of the last things that were stored, oldest first: at most kMostMarks.
inline constexpr std::size_t kMostMarks = 1024;

struct Setting {
  std::string base_folder;           ///< where relative file names start; empty: as they are
  std::string client_id;             ///< for brokers, where the endpoint gives none
  std::vector<std::uint64_t> marks;  ///< of what was stored before
  Clock clock;
};

/// One way in. It reads and never writes, but for the acknowledgements that its
/// protocol asks for, and those only when what they speak of is stored.
///
/// start() to stop() belong to the loop's thread; settle(), pause() and resume()
/// may be called from any. A source that fails keeps trying by itself, at growing
/// intervals of at most a few seconds, and says so once.
class Source {
 public:
  virtual ~Source() = default;
  virtual void start() = 0;
  virtual void stop() = 0;
  /// All up to this ticket is on disk: acknowledge it.
  virtual void settle(std::uint64_t ticket) = 0;
  /// Take nothing more for now: the disk doesn't keep up.
  virtual void pause() = 0;
  virtual void resume() = 0;
};

/// `loop` and `sink` must outlive the source.
std::unique_ptr<Source> open_source(const fleet::Endpoint& endpoint, Setting setting, Loop& loop,
                                    Sink& sink);

}  // namespace fieldfare::source
