// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/judge/first_day.h"

// A first day at a desk: what was heard, what somebody said, and what follows.
namespace fieldfare::work {

/// When a person wants to be told something.
struct Reminder {
  Instant due;
  std::string node;  ///< address or label digits; empty: of the desk
  std::string what;
  bool told = false;
};

/// A line of the live list.
struct DeskRow {
  /// Address, or `label DIGITS` where the label was typed before anything was heard of
  /// it: stays the same.
  std::string key;
  std::string digits;   ///< of the label, as typed; empty: none
  std::string address;  ///< empty: not heard
  std::string name;
  std::string note;
  std::uint64_t reports = 0;
  std::optional<Instant> newest;
  std::optional<Duration> interval;  ///< from its own reports, provoked ones left out
  std::optional<Duration> off_beat;  ///< of the newest report from where it was expected
  std::optional<Instant> next_beat;
  std::optional<std::uint64_t> counter;
  std::optional<std::int64_t> step;  ///< of the counter at the newest report
  std::optional<double> rssi_dbm;
  std::vector<judge::NamedValue> readings;  ///< the newest, without the network's number
  bool is_awaited = false;                  ///< somebody provokes it, and no answer has come
  judge::FirstVerdict verdict;
};

/// What the desk knows of a way in. Filled in by whoever listens.
struct DeskSource {
  std::string name;    ///< `r1`
  std::string where;   ///< `/dev/ttyUSB0`
  std::string state;   ///< `listening`, `the port is gone`
  std::string remedy;  ///< empty: nothing is to be done
  bool is_up = false;
  std::uint64_t octets = 0;
  std::uint64_t frames = 0;  ///< whole ones
  std::uint64_t unread = 0;  ///< frames that could not be read, and stretches of noise
};

/// What is known of the frames.
struct DeskFrames {
  enum class State : std::uint8_t { none, learning, learnt, given };
  State state = State::none;
  std::string what;     ///< one line: `hdlc, crc-16/ibm-sdlc, address at 0, counter at 8`
  std::string decides;  ///< what would decide what is open; may be empty
};

struct DeskView {
  Instant now;
  Instant since;
  std::vector<DeskRow> rows;  ///< in the order in which they first came up; labels too
  std::vector<DeskSource> sources;
  DeskFrames frames;
  std::vector<Reminder> reminders;  ///< due ones first
  std::vector<std::string> advice;  ///< for the desk as a whole, the most pressing first: what to
                                    ///< check while nothing is heard
  std::string saved_in;             ///< folder; empty: not saved
  std::string kept_in;              ///< file that holds all bytes so far
};

/// Names and what else comes from outside are kept up to here; more is not taken in.
inline constexpr std::size_t kMostNodes = 10'000;
inline constexpr std::size_t kMostLabels = 1'000;
inline constexpr std::size_t kMostProvocations = 256;  ///< the newest
inline constexpr std::size_t kMostReminders = 1'000;
inline constexpr std::size_t kMostReadings = 64;    ///< of a report
inline constexpr std::size_t kLongestName = 128;    ///< octets; cut between characters
inline constexpr std::size_t kLongestNote = 1'024;  ///< likewise

/// What somebody said about a node; found by its row's key.
struct Spoken {
  std::string name;
  std::string note;
};

/// Holds a first day. Pure: the moment is an argument of everything.
///
/// Nothing that is said must wait for the right moment: a label may be typed before
/// or after its node is heard, a provocation before or after its report.
class Desk {
 public:
  explicit Desk(Instant since);

  /// Replaces all that was heard of nodes: by what a better understanding of the
  /// frames makes of the same bytes.
  void forget_heard();
  /// What is known of a kind of node; holds for reports that follow.
  void set_terms(judge::FirstTerms terms);
  void set_network(std::optional<std::uint64_t> network);

  /// A report of the node with this address (or name). The same counter again from
  /// another receiver within a few seconds is the same report; so are two without a
  /// counter and with the same readings within one. Left out are nodes beyond
  /// kMostNodes and times ten years away.
  void heard(std::string_view address, judge::FirstReport report);

  /// Digits of a label (1 to 16 hex digits, separators and case ignored). False
  /// where they are none.
  bool label(std::string_view digits);
  /// Somebody provokes the node with this label now. False as for label().
  bool provoke(std::string_view digits, Instant now);
  void name(std::string_view key, std::string_view name);
  void note(std::string_view key, std::string_view note);
  void remind(Reminder reminder);
  /// Reminders that are due and have not been told; they are told by this.
  std::vector<Reminder> take_due(Instant now);

  void set_sources(std::vector<DeskSource> sources);
  void set_frames(DeskFrames frames);

  const judge::FirstDay& day() const { return day_; }
  const std::map<std::string, Spoken>& spoken() const { return spoken_; }
  DeskView view(Instant now) const;

 private:
  std::optional<std::size_t> node_of(std::string_view address);
  Spoken* spoken_of(std::string_view key);
  void come_up(const std::string& key);

  Instant since_;
  judge::FirstDay day_;
  std::unordered_map<std::string, std::size_t> index_;         ///< of nodes, by address
  std::vector<std::uint64_t> reports_;                         ///< of every node, dropped ones too
  std::map<std::string, std::uint64_t, std::less<>> came_up_;  ///< keys: in which order
  std::uint64_t coming_up_ = 0;
  judge::FirstTerms terms_;
  std::map<std::string, Spoken> spoken_;
  std::vector<Reminder> reminders_;
  std::vector<DeskSource> sources_;
  DeskFrames frames_;
};

}  // namespace fieldfare::work
