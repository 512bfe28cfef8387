// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/ports.h"

#include <gtest/gtest.h>

#include "fieldfare/source/internal/test_recorder.h"

// The trees are invented; that the kernel lays them out so was looked at on Linux 6.
namespace fieldfare::source {
namespace {

namespace fs = std::filesystem;
using test::append;

class PortsTest : public testing::Test {
 protected:
  fs::path root() const { return folder_.path(); }

  fs::path add_tty(const std::string& name, const fs::path& device) {
    fs::create_directories(root() / "dev");
    append(root() / "dev" / name, "");
    fs::create_directories(root() / "sys/class/tty" / name);
    fs::create_directories(root() / device);
    fs::create_directory_symlink(root() / device, root() / "sys/class/tty" / name / "device");
    return root() / "sys/class/tty" / name;
  }
  void set_driver(const fs::path& device, const std::string& driver) {
    fs::create_directories(root() / "sys/bus/drivers" / driver);
    fs::create_symlink(root() / "sys/bus/drivers" / driver, root() / device / "driver");
  }

  test::TempFolder folder_;
};

TEST_F(PortsTest, ADeviceIsDescribedByWhatItSaysOfItself) {
  const fs::path usb = "sys/devices/pci0/usb1/1-4";
  add_tty("ttyUSB0", usb / "1-4:1.0/ttyUSB0");
  set_driver(usb / "1-4:1.0/ttyUSB0", "some_serial");
  append(root() / usb / "idVendor", "02aa\n");
  append(root() / usb / "idProduct", "0017\n");
  append(root() / usb / "product", "Stick\x1b[31m \n");
  append(root() / usb / "manufacturer", "Tarn\n");
  append(root() / usb / "serial", "0042\n");
  fs::create_directories(root() / "dev/serial/by-id");
  fs::create_symlink("../../ttyUSB0", root() / "dev/serial/by-id/usb-Tarn_Stick_0042-if00-port0");
  fs::create_directories(root() / "proc/321/fd");
  fs::create_symlink(root() / "dev/ttyUSB0", root() / "proc/321/fd/7");
  append(root() / "proc/321/comm", "terminal\n");

  const auto ports = list_ports(root());
  ASSERT_EQ(ports.size(), 1u);
  const Port& port = ports[0];
  EXPECT_EQ(port.device, "/dev/ttyUSB0");
  EXPECT_EQ(port.stable_name, "/dev/serial/by-id/usb-Tarn_Stick_0042-if00-port0");
  EXPECT_EQ(port.description, "Stick\\x1B[31m");
  EXPECT_EQ(port.manufacturer, "Tarn");
  EXPECT_EQ(port.serial_number, "0042");
  EXPECT_EQ(port.usb_id, "02aa:0017");
  EXPECT_EQ(port.driver, "some_serial");
  EXPECT_TRUE(port.may_open);
  EXPECT_EQ(port.busy_by, "terminal (process 321)");
}

TEST_F(PortsTest, UsbDevicesComeFirstAndNumbersInTheirOrder) {
  for (const char* const name : {"ttyUSB10", "ttyUSB9", "ttyACM0"}) {
    const fs::path usb = fs::path{"sys/devices/usb1"} / name;
    add_tty(name, usb / "1.0");
    append(root() / usb / "idVendor", "02aa");
  }
  append(add_tty("ttyS0", "sys/devices/platform/uart") / "type", "4\n");
  add_tty("ttyAMA0", "sys/devices/platform/other");
  std::vector<std::string> names;
  for (const Port& port : list_ports(root())) names.push_back(port.device);
  EXPECT_EQ(names, (std::vector<std::string>{"/dev/ttyACM0", "/dev/ttyUSB9", "/dev/ttyUSB10",
                                             "/dev/ttyAMA0", "/dev/ttyS0"}));
}

TEST_F(PortsTest, PortsThatWereNeverSolderedAndConsolesAreLeftOut) {
  append(add_tty("ttyS1", "sys/devices/platform/uart") / "type", "0\n");
  add_tty("ttyS2", "sys/devices/platform/uart");
  add_tty("tty1", "sys/devices/virtual");
  add_tty("ttyUSB", "sys/devices/virtual");
  add_tty("ttyprintk", "sys/devices/virtual");
  EXPECT_TRUE(list_ports(root()).empty());
}

TEST_F(PortsTest, AMachineWithoutSuchFoldersHasNoPorts) {
  EXPECT_TRUE(list_ports(root()).empty());
  EXPECT_TRUE(list_ports(root() / "nowhere").empty());
}

TEST_F(PortsTest, APortThatTheSystemTellsNothingOfIsListedByItsName) {
  fs::create_directories(root() / "dev");
  append(root() / "dev/ttyUSB3", "");
  const auto ports = list_ports(root());
  ASSERT_EQ(ports.size(), 1u);
  EXPECT_EQ(ports[0].usb_id, std::nullopt);
  EXPECT_EQ(ports[0].driver, "");
  EXPECT_EQ(ports[0].busy_by, "");
}

}  // namespace
}  // namespace fieldfare::source
