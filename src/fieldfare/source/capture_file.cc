// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/capture_file.h"

#include <pcap/pcap.h>

#include <array>
#include <cstdint>
#include <cstdio>
#include <memory>
#include <span>

namespace fieldfare::source {
namespace {

using namespace std::string_view_literals;

struct ClosePcap {
  void operator()(pcap_t* capture) const { pcap_close(capture); }
};
using Capture = std::unique_ptr<pcap_t, ClosePcap>;

ssize_t read_cookie(void* cookie, char* buffer, std::size_t size) {
  const auto& bytes = *static_cast<const BytesIn*>(cookie);
  return static_cast<ssize_t>(bytes({buffer, size}));
}

/// A FILE that reads from `bytes`, which must outlive it.
std::FILE* open_bytes(const BytesIn& bytes) {
  cookie_io_functions_t functions{};
  functions.read = read_cookie;
  // The interface predates const; read_cookie() takes it back as such.
  return ::fopencookie(const_cast<BytesIn*>(&bytes), "rb", functions);
}

/// Moments beyond every clock become one that nobody believes.
Instant instant_of(const timeval& nanoseconds) {
  constexpr std::int64_t kMostSeconds = 9'000'000'000;
  constexpr std::int64_t kNsPerSecond = 1'000'000'000;
  const std::int64_t seconds = nanoseconds.tv_sec;
  const std::int64_t ns = nanoseconds.tv_usec;
  if (seconds < 0 || seconds > kMostSeconds || ns < 0 || ns >= kNsPerSecond) return {};
  return {seconds * kNsPerSecond + ns};
}

}  // namespace

bool is_capture(std::string_view front) {
  constexpr std::array kMarks{
      "\xD4\xC3\xB2\xA1"sv, "\xA1\xB2\xC3\xD4"sv,  // pcap, microseconds
      "\x4D\x3C\xB2\xA1"sv, "\xA1\xB2\x3C\x4D"sv,  // pcap, nanoseconds
      "\x0A\x0D\x0D\x0A"sv,                        // pcapng
  };
  for (const std::string_view mark : kMarks) {
    if (front.starts_with(mark)) return true;
  }
  return false;
}

Result<CaptureReading, Complaint> read_capture(const std::string& file_name, const BytesIn& bytes,
                                               const PacketSink& sink) {
  std::array<char, PCAP_ERRBUF_SIZE> why{};
  std::FILE* file = open_bytes(bytes);
  if (file == nullptr) {
    return Failure{Complaint{{file_name, 0, 0}, "there is no memory to read the capture", {}}};
  }
  // Owns the file from here on, unless it fails.
  const Capture capture{
      pcap_fopen_offline_with_tstamp_precision(file, PCAP_TSTAMP_PRECISION_NANO, why.data())};
  if (!capture) {
    std::fclose(file);
    return Failure{Complaint{{file_name, 0, 0},
                             std::string{"the capture can't be read: "} + why.data(),
                             "a file of pcap or pcapng"}};
  }
  const int link_type = pcap_datalink(capture.get());
  CaptureReading reading;
  pcap_pkthdr* header = nullptr;
  const std::uint8_t* octets = nullptr;
  std::size_t packets = 0;
  int status = 0;
  while ((status = pcap_next_ex(capture.get(), &header, &octets)) == 1) {
    ++packets;
    if (!sink(
            {link_type, instant_of(header->ts), std::span{octets, header->caplen}, header->len})) {
      return reading;
    }
  }
  if (status == PCAP_ERROR) {
    reading.torn = Complaint{{file_name, 0, 0},
                             "the capture breaks off after packet " + std::to_string(packets) +
                                 " (" + pcap_geterr(capture.get()) + ")",
                             "the whole file"};
  }
  return reading;
}

}  // namespace fieldfare::source
