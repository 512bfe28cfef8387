// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/serial_source.h"

#include <fcntl.h>
#include <grp.h>
#include <gtest/gtest.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "fieldfare/source/internal/line_words.h"
#include "fieldfare/source/internal/test_recorder.h"
#include "fieldfare/source/test_support.h"

// Real pseudo-terminals of the system; the trees of /dev and /sys around them are
// invented.
namespace fieldfare::source {
namespace {

using test::append;
using test::point;
using test::PseudoTerminal;
using test::serve_until;

class SerialSourceTest : public testing::Test {
 protected:
  void listen(const std::string& device) { listen_to({.device = device}); }
  void listen_to(const fleet::SerialEndpoint& endpoint) {
    source_ = make_serial_source(endpoint, test::setting(), loop_, heard_, root_);
    source_->start();
  }
  bool heard(const std::string& octets) {
    return serve_until(loop_, [&] { return heard_.all() == octets; });
  }
  bool told(Condition condition, std::string_view what) {
    return serve_until(loop_, [&] { return heard_.tells(condition, what); });
  }

  /// A USB adapter with its port `name`, plugged in: the port leads to `terminal`.
  void plug_in(const std::string& name, const std::string& serial_number,
               const std::string& terminal) {
    const auto root = folder_.path();
    const auto device = root / "sys/devices/usb1" / ("1-" + name);
    std::filesystem::create_directories(device / "1.0");
    append(device / "idVendor", "02aa\n");
    append(device / "idProduct", "0017\n");
    append(device / "product", "Receiver stick\n");
    append(device / "serial", serial_number + "\n");
    std::filesystem::create_directories(root / "sys/class/tty" / name);
    point(root / "sys/class/tty" / name / "device", device / "1.0");
    std::filesystem::create_directories(root / "dev");
    point(root / "dev" / name, terminal);
  }
  void pull_out(const std::string& name) { std::filesystem::remove(folder_.path() / "dev" / name); }
  void use_own_tree() { root_ = folder_.path(); }

  test::TempFolder folder_;
  std::filesystem::path root_ = "/";
  Loop loop_;
  test::Recorder heard_;
  std::unique_ptr<Source> source_;
};

TEST_F(SerialSourceTest, HandsOverWhatComesInOctetForOctet) {
  PseudoTerminal port;
  listen(port.device());
  ASSERT_EQ(heard_.changes.size(), 1u);
  EXPECT_EQ(heard_.changes[0].condition, Condition::up);
  EXPECT_EQ(heard_.changes[0].what, "listening to " + port.device() + " at 115200 baud, 8N1");
  std::string every_octet;
  for (int i = 0; i < 256; ++i) every_octet += static_cast<char>(i);
  port.write(every_octet);
  ASSERT_TRUE(heard(every_octet));
  port.write("\r\n\x03\x11\x13");
  ASSERT_TRUE(heard(every_octet + "\r\n\x03\x11\x13"));
  for (std::size_t i = 0; i < heard_.pieces.size(); ++i) {
    EXPECT_EQ(heard_.pieces[i].ticket, i + 1);
    EXPECT_EQ(heard_.pieces[i].mark, 0u);
    EXPECT_FALSE(heard_.pieces[i].whole);
  }
  EXPECT_EQ(port.written(), "");
}

TEST_F(SerialSourceTest, TakesASpeedThatNoStandardKnows) {
  PseudoTerminal port;
  listen_to({.device = port.device(), .baud = 74'880});
  EXPECT_TRUE(heard_.tells(Condition::up, "at 74880 baud"));
}

TEST_F(SerialSourceTest, APulledPlugIsToldOnceAndSurvivedUnderTheSameName) {
  const std::string name = folder_ / "port";
  PseudoTerminal first;
  point(name, first.device());
  listen(name);
  first.write("before");
  ASSERT_TRUE(heard("before"));
  std::filesystem::remove(name);
  first.hang_up();
  ASSERT_TRUE(told(Condition::down, "the port " + name + " is gone"));
  int looks = 0;
  loop_.every(Duration::seconds(0.5), [&] { ++looks; });
  ASSERT_TRUE(serve_until(loop_, [&] { return looks == 2; }));
  EXPECT_EQ(heard_.changes.size(), 2u) << heard_.changes.back().what;
  EXPECT_NE(heard_.changes.back().remedy, "");

  PseudoTerminal second;
  second.write("after");
  point(name, second.device());
  ASSERT_TRUE(heard("beforeafter"));
  EXPECT_TRUE(heard_.is(Condition::up));
  EXPECT_EQ(heard_.changes.size(), 3u);
}

TEST_F(SerialSourceTest, AReceiverIsFoundAgainUnderAnotherName) {
  use_own_tree();
  PseudoTerminal first;
  plug_in("ttyUSB0", "A-17", first.device());
  listen("/dev/ttyUSB0");
  first.write("1");
  ASSERT_TRUE(heard("1"));
  pull_out("ttyUSB0");
  first.hang_up();
  ASSERT_TRUE(told(Condition::down, "the port /dev/ttyUSB0 is gone"));
  PseudoTerminal other, second;
  plug_in("ttyUSB1", "A-18", other.device());
  plug_in("ttyUSB2", "A-17", second.device());
  other.write("never");
  second.write("2");
  ASSERT_TRUE(heard("12"));
  EXPECT_TRUE(
      heard_.tells(Condition::up, "/dev/ttyUSB2, where the receiver of /dev/ttyUSB0 is now"));
}

TEST_F(SerialSourceTest, TheReceiverCountsMoreThanTheNameItHad) {
  use_own_tree();
  PseudoTerminal first, other, second;
  plug_in("ttyUSB0", "A-17", first.device());
  listen("/dev/ttyUSB0");
  plug_in("ttyUSB1", "A-17", second.device());
  pull_out("ttyUSB0");
  std::filesystem::remove_all(folder_.path() / "sys/devices/usb1/1-ttyUSB0");
  plug_in("ttyUSB0", "B-1", other.device());
  other.write("another receiver");
  second.write("2");
  first.hang_up();
  ASSERT_TRUE(heard("2"));
}

TEST_F(SerialSourceTest, AStableNameIsEnoughForADeviceWithoutASerialNumber) {
  use_own_tree();
  std::filesystem::create_directories(folder_.path() / "dev/serial/by-id");
  PseudoTerminal first, second;
  plug_in("ttyUSB0", "", first.device());
  point(folder_ / "dev/serial/by-id/usb-stick-port0", "../../ttyUSB0");
  listen("/dev/ttyUSB0");
  pull_out("ttyUSB0");
  plug_in("ttyUSB7", "", second.device());
  point(folder_ / "dev/serial/by-id/usb-stick-port0", "../../ttyUSB7");
  second.write("2");
  first.hang_up();
  ASSERT_TRUE(heard("2"));
}

TEST_F(SerialSourceTest, WhereThereIsNoPortAtAllTheDriverIsSuspected) {
  use_own_tree();
  listen("/dev/ttyUSB0");
  ASSERT_EQ(heard_.changes.size(), 1u);
  EXPECT_EQ(heard_.changes[0].condition, Condition::down);
  EXPECT_EQ(heard_.changes[0].what, "there is no port /dev/ttyUSB0");
  EXPECT_NE(heard_.changes[0].remedy.find("no serial port at all"), std::string::npos);
  EXPECT_NE(heard_.changes[0].remedy.find("driver"), std::string::npos);
}

TEST_F(SerialSourceTest, WhereThereAreOtherPortsTheyAreNamed) {
  use_own_tree();
  PseudoTerminal port;
  plug_in("ttyACM3", "A", port.device());
  listen("/dev/ttyUSB0");
  ASSERT_EQ(heard_.changes.size(), 1u);
  EXPECT_EQ(heard_.changes[0].remedy, "ports here: /dev/ttyACM3 (Receiver stick)");
}

TEST_F(SerialSourceTest, ABusyPortNamesItsHolderAndIsTakenWhenItIsFree) {
  PseudoTerminal port;
  test::Recorder other;
  auto first = make_serial_source({port.device()}, test::setting(), loop_, other);
  first->start();
  ASSERT_TRUE(other.is(Condition::up));
  listen(port.device());
  ASSERT_TRUE(heard_.tells(Condition::down, "another program uses the port " + port.device()));
  EXPECT_NE(heard_.changes[0].what.find("(process " + std::to_string(getpid()) + ')'),
            std::string::npos)
      << heard_.changes[0].what;
  EXPECT_NE(heard_.changes[0].remedy.find("end that program"), std::string::npos);
  first->stop();
  EXPECT_TRUE(told(Condition::up, "listening"));
}

TEST_F(SerialSourceTest, AFileThatIsNoPortIsToldAsSuch) {
  append(folder_ / "x", "text");
  listen(folder_ / "x");
  EXPECT_TRUE(heard_.tells(Condition::down, "is no serial port"));
}

TEST_F(SerialSourceTest, APortThatCannotDoTheParityIsNotTakenWithoutIt) {
  PseudoTerminal port;
  listen_to({.device = port.device(), .baud = 9600, .data_bits = 7, .parity = fleet::Parity::even});
  EXPECT_TRUE(heard_.tells(Condition::down, "can't be read at 9600 baud, 7E1"));
  EXPECT_NE(heard_.changes[0].remedy, "");
}

TEST_F(SerialSourceTest, MissingRightsNameTheGroupThatHasThem) {
  if (geteuid() != 0) GTEST_SKIP() << "only the superuser can take the part of another user";
  const group* const some_group = getgrnam("daemon");
  if (!some_group) GTEST_SKIP() << "the system has no group `daemon`";
  PseudoTerminal port;
  ASSERT_EQ(chown(port.device().c_str(), 0, some_group->gr_gid), 0);
  ASSERT_EQ(chmod(port.device().c_str(), 0640), 0);
  const pid_t child = fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    constexpr uid_t kNobody = 65'534;
    if (setgroups(0, nullptr) != 0 || setgid(kNobody) != 0 || setuid(kNobody) != 0) _exit(2);
    Loop loop;
    test::Recorder heard;
    auto source = make_serial_source({port.device()}, test::setting(), loop, heard);
    source->start();
    const bool as_expected =
        heard.tells(Condition::down, "no rights to read the port " + port.device()) &&
        heard.changes[0].remedy.find("the group daemon (`sudo usermod -aG daemon") !=
            std::string::npos;
    _exit(as_expected ? 0 : 1);
  }
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 0);
}

TEST_F(SerialSourceTest, PausedItLeavesOctetsToTheSystemAndTakesThemAfterwards) {
  PseudoTerminal port;
  listen(port.device());
  source_->pause();
  test::serve_what_is_due(loop_);
  port.write("kept");
  test::serve_what_is_due(loop_);
  EXPECT_EQ(heard_.all(), "");
  source_->resume();
  EXPECT_TRUE(heard("kept"));
}

TEST_F(SerialSourceTest, StoppedWhileItHandsOverItTakesNothingMore) {
  PseudoTerminal port;
  listen(port.device());
  heard_.on_take = [&] { source_->stop(); };
  port.write("1");
  ASSERT_TRUE(heard("1"));
  EXPECT_EQ(port.write_some("2"), 1u);
  test::serve_what_is_due(loop_);
  EXPECT_EQ(heard_.all(), "1");
}

TEST(LineWords, LossesAreCountedInOctets) {
  EXPECT_EQ(overrun_words({"/dev/ttyS0"}, 1),
            "the port /dev/ttyS0 lost 1 octet: its buffer was full");
  EXPECT_EQ(overrun_words({"/dev/ttyS0"}, 300),
            "the port /dev/ttyS0 lost 300 octets: its buffer was full");
}

}  // namespace
}  // namespace fieldfare::source
