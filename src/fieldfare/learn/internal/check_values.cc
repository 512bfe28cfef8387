// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/check_values.h"

namespace fieldfare::learn {
namespace {

std::uint64_t reflected(std::uint64_t value, unsigned width) {
  std::uint64_t out = 0;
  for (unsigned bit = 0; bit < width; ++bit) out = out << 1 | (value >> bit & 1);
  return out;
}

std::uint64_t ones(unsigned width) { return (std::uint64_t{1} << width) - 1; }

std::vector<std::uint64_t> table_of(const CrcModel& model) {
  const std::uint64_t top = std::uint64_t{1} << (model.width - 1);
  const std::uint64_t polynomial =
      model.reflect_in ? reflected(model.polynomial, model.width) : model.polynomial;
  std::vector<std::uint64_t> out(256);
  for (std::uint64_t octet = 0; octet < 256; ++octet) {
    std::uint64_t reg = model.reflect_in ? octet : octet << (model.width - 8);
    for (int bit = 0; bit < 8; ++bit) {
      if (model.reflect_in) {
        reg = (reg & 1) != 0 ? reg >> 1 ^ polynomial : reg >> 1;
      } else {
        reg = (reg & top) != 0 ? reg << 1 ^ polynomial : reg << 1;
      }
    }
    out[octet] = reg & ones(model.width);
  }
  return out;
}

void running_crc(const CheckMaker& maker, std::span<const std::uint8_t> octets,
                 std::vector<std::uint32_t>& out) {
  const CrcModel& model = *maker.model;
  const unsigned width = model.width;
  const std::uint64_t mask = ones(width);
  const bool turns = model.reflect_in != model.reflect_out;
  std::uint64_t reg = model.reflect_in ? reflected(model.start, width) : model.start;
  for (std::size_t i = 0; i <= octets.size(); ++i) {
    out[i] = static_cast<std::uint32_t>((turns ? reflected(reg, width) : reg) ^ model.final_xor);
    if (i == octets.size()) break;
    reg = model.reflect_in
              ? maker.table[(reg ^ octets[i]) & 0xFF] ^ reg >> 8
              : (maker.table[(reg >> (width - 8) ^ octets[i]) & 0xFF] ^ reg << 8) & mask;
  }
}

}  // namespace

std::vector<CheckMaker> all_check_makers() {
  std::vector<CheckMaker> out;
  for (const CrcModel& model : crc_models()) {
    if (model.width > 32) continue;
    out.push_back({fleet::CheckKind::crc, &model, static_cast<int>(model.width / 8),
                   fleet::Complement::none, table_of(model)});
  }
  for (const int octets : {1, 2}) {
    for (const auto complement :
         {fleet::Complement::none, fleet::Complement::ones, fleet::Complement::twos}) {
      out.push_back({fleet::CheckKind::sum, nullptr, octets, complement});
    }
  }
  out.push_back({fleet::CheckKind::exclusive_or, nullptr, 1, fleet::Complement::none});
  return out;
}

void running_checks(const CheckMaker& maker, std::span<const std::uint8_t> octets,
                    std::vector<std::uint32_t>& out) {
  out.resize(octets.size() + 1);
  if (maker.kind == fleet::CheckKind::crc) {
    running_crc(maker, octets, out);
    return;
  }
  const std::uint32_t mask = maker.octets == 1 ? 0xFF : 0xFFFF;
  std::uint32_t sum = 0;
  for (std::size_t i = 0; i <= octets.size(); ++i) {
    const std::uint32_t sent = maker.complement == fleet::Complement::none   ? sum
                               : maker.complement == fleet::Complement::ones ? ~sum
                                                                             : ~sum + 1;
    out[i] = sent & mask;
    if (i == octets.size()) break;
    sum = maker.kind == fleet::CheckKind::sum ? sum + octets[i] : sum ^ octets[i];
  }
}

}  // namespace fieldfare::learn
