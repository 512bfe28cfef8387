// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

// What people call things in reports.
namespace fieldfare::learn {

/// What a name may say; several of them may hold: `Entry ID` may be either.
struct KeySense {
  bool node = false;
  bool counter = false;
  bool time = false;
  bool receiver = false;
  bool rssi = false;
  bool snr = false;
  bool lqi = false;
  bool noise = false;
  bool supply = false;
  bool payload = false;
  bool network = false;
  std::string quantity;  ///< `temperature`, `humidity`; empty where no known one
  std::string unit;      ///< as names of readings end: `c`, `pct`, `v`; empty: not said
  std::string name;      ///< all of the key as a reading is named, without the unit
};

/// `key` and the unit behind the number, both as they stand in the data.
KeySense sense_of(std::string_view key, std::string_view unit);

/// Lower-case words of a name: `batteryVoltage (mV)` has battery, voltage, mv.
std::vector<std::string> words_of(std::string_view key);

}  // namespace fieldfare::learn
