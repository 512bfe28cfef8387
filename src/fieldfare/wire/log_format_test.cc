// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/log_format.h"

#include <gtest/gtest.h>

namespace fieldfare::wire {
namespace {

TEST(ColumnKind, FollowsFromTheNameAlone) {
  EXPECT_EQ(column_kind("seq"), ColumnKind::sequence);
  EXPECT_EQ(column_kind("supply_v"), ColumnKind::supply_v);
  EXPECT_EQ(column_kind("temperature_c"), ColumnKind::reading);
  EXPECT_EQ(column_kind("board_temperature_c"), ColumnKind::reading);
  EXPECT_EQ(column_kind("signal_card"), ColumnKind::reading_maybe);
  EXPECT_EQ(column_kind("remark"), ColumnKind::ignored);
  EXPECT_EQ(column_kind("_c"), ColumnKind::ignored);
  EXPECT_EQ(column_kind("c_"), ColumnKind::ignored);
  EXPECT_EQ(column_kind(""), ColumnKind::ignored);
}

TEST(ColumnKind, EveryFixedOneHasItsName) {
  for (const char* name : {"time", "node", "receiver", "seq", "rssi_dbm", "snr_db", "lqi",
                           "noise_dbm", "arrived_at", "supply_v"}) {
    EXPECT_EQ(column_name(column_kind(name)), name);
  }
}

TEST(NearestColumn, FindsSlipsButNotOtherNames) {
  EXPECT_EQ(nearest_column("rsi_dbm"), "rssi_dbm");
  EXPECT_EQ(nearest_column("Time"), "time");
  EXPECT_EQ(nearest_column("RSSI_dBm"), "rssi_dbm");
  EXPECT_EQ(nearest_column("nodes"), "node");
  EXPECT_EQ(nearest_column("arived_at"), "arrived_at");
  for (const char* name : {"time", "rssi_dbm", "temperature_c", "humidity_pct", "remark", ""}) {
    EXPECT_FALSE(nearest_column(name)) << name;
  }
}

}  // namespace
}  // namespace fieldfare::wire
