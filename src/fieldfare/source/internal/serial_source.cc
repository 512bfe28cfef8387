// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/serial_source.h"

#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <optional>
#include <string>
#include <utility>

#include "fieldfare/source/internal/line_words.h"
#include "fieldfare/source/internal/port_scan.h"
#include "fieldfare/source/internal/readable.h"
#include "fieldfare/source/internal/reader.h"
#include "fieldfare/source/internal/serial_line.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source {
namespace {

// One port must not keep the others waiting: so many reads, then theirs.
constexpr int kReadsInARow = 16;
constexpr Duration kBetweenCounts = Duration::seconds(1);

class SerialSource : public Reader {
 public:
  SerialSource(fleet::SerialEndpoint endpoint, Setting setting, Loop& loop, Sink& sink,
               std::filesystem::path root)
      : Reader{std::move(setting), loop, sink},
        endpoint_{std::move(endpoint)},
        root_{std::move(root)},
        line_{loop} {}

 protected:
  void open() override {
    const std::string device = device_now();
    const auto line = open_line(below(root_, device).string(), endpoint_);
    if (!line) return fail(words_of(line.error(), {root_, device, endpoint_, was_up_}));
    if (!line_.adopt(*line)) {
      return fail(words_of({LineTrouble::other, errno}, {root_, device, endpoint_, was_up_}));
    }
    remember(device);
    was_up_ = true;
    lost_ = lost_octets(line_.descriptor());
    up(listening_words(endpoint_, device));
    go_on();
  }

  void close() override { line_.close(); }

  void go_on() override {
    std::array<std::uint8_t, 4096> octets{};
    for (int i = 0; i < kReadsInARow; ++i) {
      // The one who takes may have paused or stopped us.
      if (paused() || !line_.is_open()) return;
      const ssize_t size = read(line_.descriptor(), octets.data(), octets.size());
      if (size > 0) {
        hand_over({octets.data(), static_cast<std::size_t>(size)}, false, 0);
      } else if (size < 0 && errno == EAGAIN) {
        tell_losses();
        return line_.wait(shared_from_this(), [this] { go_on(); });
      } else if (size == 0 || errno != EINTR) {
        return gone();
      }
    }
    go_on_later();
  }

 private:
  void fail(LineWords words) {
    down(std::move(words.what), std::move(words.remedy));
    try_again();
  }

  void gone() {
    line_.close();
    fail(words_of({LineTrouble::missing, errno}, {root_, endpoint_.device, endpoint_, was_up_}));
  }

  /// The device that was listened to before, under the name that it has now.
  std::string device_now() const {
    if (!known_) return endpoint_.device;
    const std::vector<Port> ports = scan_ports(root_);
    const auto same_name = [&](const Port& port) {
      return !known_->stable_name.empty() && port.stable_name == known_->stable_name;
    };
    const auto same_device = [&](const Port& port) {
      return !known_->serial_number.empty() && port.serial_number == known_->serial_number &&
             port.usb_id == known_->usb_id;
    };
    auto found = std::ranges::find_if(ports, same_name);
    // A device with two ports has one serial number: then only the name can tell.
    if (found == ports.end() && std::ranges::count_if(ports, same_device) == 1) {
      found = std::ranges::find_if(ports, same_device);
    }
    if (found == ports.end() || is_same(found->device, endpoint_.device)) return endpoint_.device;
    return found->device;
  }

  bool is_same(const std::string& a, const std::string& b) const {
    return real_path(below(root_, a)) == real_path(below(root_, b));
  }

  void remember(const std::string& device) {
    for (Port& port : scan_ports(root_)) {
      if (is_same(port.device, device)) known_ = std::move(port);
    }
  }

  void tell_losses() {
    const Instant now = setting().clock();
    if (now < counted_ + kBetweenCounts) return;
    counted_ = now;
    const auto lost = lost_octets(line_.descriptor());
    if (lost && lost_ && *lost != *lost_) {
      overrun(overrun_words(endpoint_, *lost - *lost_));
    }
    lost_ = lost;
  }

  fleet::SerialEndpoint endpoint_;
  std::filesystem::path root_;
  Readable line_;
  std::optional<Port> known_;
  std::optional<std::uint32_t> lost_;
  Instant counted_;
  bool was_up_ = false;
};

}  // namespace

std::unique_ptr<Source> make_serial_source(const fleet::SerialEndpoint& endpoint, Setting setting,
                                           Loop& loop, Sink& sink,
                                           const std::filesystem::path& root) {
  return held(std::make_shared<SerialSource>(endpoint, std::move(setting), loop, sink, root));
}

}  // namespace fieldfare::source
