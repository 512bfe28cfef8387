// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <chrono>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/address.h"
#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/sheet.h"

namespace fieldfare::fleet {

/// What the users of the data ask for.
struct Need {
  std::string name;
  std::optional<Duration> fresh_within;  ///< the newest reading is no older than this ...
  double fresh_probability = 0.99;       ///< ... this surely
  std::optional<Duration> life;          ///< of a set of cells
  std::optional<Range> air_temperature_c;
};

/// What verdicts are held to.
struct Proof {
  double delivery_good = 0.97;                 ///< delivery that should pass
  double delivery_bad = 0.90;                  ///< delivery that should fail
  double alpha = 0.05;                         ///< risk that a good node fails
  double beta = 0.05;                          ///< risk that a bad node passes
  Duration soak{48LL * 3600 * 1'000'000'000};  ///< how long nodes run before they are handed over
  /// Wanted distance of the mean signal above the sensitivity. The 10 dB are
  /// common practice, a rule of thumb: where the signal fades as Rayleigh's it
  /// still falls below the sensitivity 1 - exp(-0.1) = 9.5 % of the time.
  double margin_db = 10;
};

/// Site coordinates in metres: x east, y north, z up.
using Position = std::array<double, 3>;

struct Receiver {
  std::string name;
  std::optional<std::size_t> sheet;  ///< index into Site::receiver_sheets
  std::string source;                ///< where its hearings come in; empty where not said
  bool sends_log = false;  ///< rows of a log come from it, whatever the sheets say of frames
  std::optional<Position> at_m;
};

/// The settings one node is to have. What is absent is not fixed.
struct Card {
  std::optional<Duration> interval;
};

struct Node {
  std::string name;
  std::optional<Address> address;
  std::string label;  ///< last digits of its label as somebody read them, upper-case hex; or empty
  std::optional<std::size_t> sheet;  ///< index into Site::node_sheets
  std::optional<std::size_t> need;   ///< index into Site::needs
  std::optional<Position> at_m;
  std::string mounting;  ///< what it hangs on; empty where not said
  Card card;
  std::optional<std::chrono::year_month_day> cells_fitted;
};

/// The place and everything about it that people wrote down. Names and addresses
/// are unique; every index is valid.
struct Site {
  std::string name;
  bool invented = false;         ///< shown wherever something of this site is shown
  std::string timezone = "UTC";  ///< IANA name; its shape was checked, not its existence
  /// Of the site's IEEE 802.15.4 network: short addresses in the roster are of it.
  std::optional<std::uint16_t> pan_id;
  std::optional<int> channel;  ///< that all nodes share, as their makers count channels
  std::vector<Need> needs;
  Proof proof;
  std::vector<Receiver> receivers;
  std::vector<Node> nodes;
  std::vector<NodeSheet> node_sheets;  ///< built in, or of the site's own
  std::vector<ReceiverSheet> receiver_sheets;
  std::vector<CellSheet> cell_sheets;
};

/// The node's sheet, or nullptr where it has none. The pointer lives as long as
/// the site is neither changed nor destroyed.
const NodeSheet* sheet_of(const Site& site, const Node& node);
const Need* need_of(const Site& site, const Node& node);
const ReceiverSheet* sheet_of(const Site& site, const Receiver& receiver);

/// The receiver of that name, or nullptr.
const Receiver* find_receiver(const Site& site, std::string_view name);

}  // namespace fieldfare::fleet
