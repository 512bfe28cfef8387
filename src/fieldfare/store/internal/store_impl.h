// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <filesystem>
#include <string>
#include <utility>

#include "fieldfare/base/result.h"
#include "fieldfare/store/internal/database.h"
#include "fieldfare/store/internal/names.h"
#include "fieldfare/store/internal/row.h"
#include "fieldfare/store/store.h"

namespace fieldfare::store {

struct Store::Impl {
  std::filesystem::path file;
  Mode mode;
  Database database;
  Names names;

  /// Runs `body` and turns its Fault into a Complaint about this file.
  template <class Value, class Body>
  Result<Value, Complaint> guarded(Body&& body) {
    try {
      return std::forward<Body>(body)();
    } catch (const Fault& fault) {
      return Failure{complaint_of(fault, file)};
    }
  }

  void demand_writing() const {
    if (mode == Mode::read) {
      throw Fault{SQLITE_MISUSE, "it was opened for reading", "open it for writing"};
    }
  }
};

/// Sets what makes a commit durable, and brings the tables up to date.
void prepare_for_writing(Database& database, const Options& options);

/// Columns of `hearing` in the order in which read_row() expects them.
inline constexpr const char* kHearingColumns =
    "arrival, node, receiver, time_ns, seq, arrived_ns, implausible, batched, rssi_dbm, snr_db, "
    "lqi, noise_dbm, supply_v";

Row read_row(const Statement& statement);

/// SHA-256, 32 bytes.
std::string sha256(std::string_view bytes);

}  // namespace fieldfare::store
