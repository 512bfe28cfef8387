// SPDX-License-Identifier: Apache-2.0
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/wire/gunzip.h"

namespace {

using fieldfare::wire::Gunzip;

/// What came out.
struct Unpacked {
  std::uint64_t size = 0;
  std::uint64_t hash = 0;
  std::string complaint;

  bool operator==(const Unpacked&) const = default;
};

Unpacked unpack(std::string_view bytes, std::size_t piece) {
  Unpacked unpacked;
  Gunzip gunzip{"fuzz.gz"};
  const fieldfare::wire::ByteSink sink = [&](std::string_view text) {
    if (text.size() > Gunzip::kLargestPiece) std::abort();
    unpacked.size += text.size();
    for (const char c : text) unpacked.hash = unpacked.hash * 31 + static_cast<unsigned char>(c);
  };
  for (std::size_t from = 0; from < bytes.size(); from += piece) {
    const std::string_view part = bytes.substr(from, piece);
    const std::vector<char> copy(part.begin(), part.end());
    gunzip.feed({copy.data(), copy.size()}, sink);
  }
  gunzip.finish(sink);
  if (gunzip.complaint()) unpacked.complaint = gunzip.complaint()->text();
  return unpacked;
}

}  // namespace

/// Ends the program where the bytes unpacked in pieces give another text than in
/// one go. The first byte is the size of a piece.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string_view bytes{reinterpret_cast<const char*>(data) + 1, size - 1};
  if (!(unpack(bytes, bytes.size() + 1) == unpack(bytes, data[0] % 64 + 1U))) std::abort();
  return 0;
}
