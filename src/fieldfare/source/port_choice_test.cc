// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/port_choice.h"

#include <gtest/gtest.h>

#include <vector>

namespace fieldfare::source {
namespace {

// Every port here is invented.
Port built_in() {
  Port port;
  port.device = "/dev/ttyS0";
  return port;
}
Port usb(std::string device) {
  Port port;
  port.device = std::move(device);
  port.usb_id = "0000:0001";
  return port;
}

TEST(PortChoice, ThereIsNoneAmongNone) { EXPECT_FALSE(likeliest_port({})); }

TEST(PortChoice, AUsbDeviceIsLikelierThanABuiltInPort) {
  const std::vector<Port> ports{built_in(), usb("/dev/ttyUSB0")};
  const auto likely = likeliest_port(ports);
  ASSERT_TRUE(likely);
  EXPECT_EQ(likely->index, 1U);
  EXPECT_EQ(likely->why, "the only port of a USB device");
}

TEST(PortChoice, APortThatIsFreeIsLikelierThanOneInUse) {
  std::vector<Port> ports{usb("/dev/ttyUSB0"), usb("/dev/ttyUSB1")};
  ports[0].busy_by = "modem-manager";
  const auto likely = likeliest_port(ports);
  ASSERT_TRUE(likely);
  EXPECT_EQ(likely->index, 1U);
  EXPECT_EQ(likely->why, "the only port of a USB device that is free");
}

TEST(PortChoice, AmongEqualsItSaysHowToFindOut) {
  const std::vector<Port> ports{usb("/dev/ttyUSB0"), usb("/dev/ttyACM0"), built_in()};
  const auto likely = likeliest_port(ports);
  ASSERT_TRUE(likely);
  EXPECT_EQ(likely->index, 0U);
  EXPECT_NE(likely->why.find("unplug"), std::string::npos);
}

TEST(PortChoice, WhatStandsInTheWayIsTold) {
  std::vector<Port> ports{usb("/dev/ttyUSB0")};
  ports[0].may_open = false;
  EXPECT_NE(likeliest_port(ports)->why.find("may not open"), std::string::npos);
  ports[0].busy_by = "modem-manager";
  EXPECT_NE(likeliest_port(ports)->why.find("modem-manager"), std::string::npos);
}

TEST(PortChoice, WithoutUsbItSaysSo) {
  const std::vector<Port> ports{built_in()};
  EXPECT_NE(likeliest_port(ports)->why.find("no USB device"), std::string::npos);
}

}  // namespace
}  // namespace fieldfare::source
