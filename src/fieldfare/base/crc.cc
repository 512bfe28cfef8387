// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/crc.h"

#include <algorithm>
#include <iterator>

namespace fieldfare {
namespace {

constexpr std::uint64_t kOnes16 = 0xFFFF;
constexpr std::uint64_t kOnes24 = 0xFF'FFFF;
constexpr std::uint64_t kOnes32 = 0xFFFF'FFFF;
constexpr std::uint64_t kOnes64 = ~std::uint64_t{0};
constexpr std::uint64_t kEcma182 = 0x42F0'E1EB'A9EA'3693;

// Source: G. Cook, Catalogue of parametrised CRC algorithms. Parameters of the
// IBM-3740, KERMIT, XMODEM, MODBUS, IBM-SDLC, SMBUS and MAXIM-DOW models were
// seen in public copies; the others are from memory, each held to the check
// value of the catalogue, also from memory, which a wrong parameter would miss.
constexpr CrcModel kModels[] = {
    {"crc-8/autosar", 8, 0x2F, 0xFF, false, false, 0xFF, 0xDF},
    {"crc-8/cdma2000", 8, 0x9B, 0xFF, false, false, 0x00, 0xDA},
    {"crc-8/darc", 8, 0x39, 0x00, true, true, 0x00, 0x15},
    {"crc-8/dvb-s2", 8, 0xD5, 0x00, false, false, 0x00, 0xBC},
    {"crc-8/gsm-a", 8, 0x1D, 0x00, false, false, 0x00, 0x37},
    {"crc-8/gsm-b", 8, 0x49, 0x00, false, false, 0xFF, 0x94},
    {"crc-8/i-432-1", 8, 0x07, 0x00, false, false, 0x55, 0xA1},
    {"crc-8/lte", 8, 0x9B, 0x00, false, false, 0x00, 0xEA},
    {"crc-8/maxim-dow", 8, 0x31, 0x00, true, true, 0x00, 0xA1},
    {"crc-8/nrsc-5", 8, 0x31, 0xFF, false, false, 0x00, 0xF7},
    {"crc-8/opensafety", 8, 0x2F, 0x00, false, false, 0x00, 0x3E},
    {"crc-8/rohc", 8, 0x07, 0xFF, true, true, 0x00, 0xD0},
    {"crc-8/sae-j1850", 8, 0x1D, 0xFF, false, false, 0xFF, 0x4B},
    {"crc-8/smbus", 8, 0x07, 0x00, false, false, 0x00, 0xF4},
    {"crc-8/tech-3250", 8, 0x1D, 0xFF, true, true, 0x00, 0x97},
    {"crc-8/wcdma", 8, 0x9B, 0x00, true, true, 0x00, 0x25},
    {"crc-16/arc", 16, 0x8005, 0, true, true, 0, 0xBB3D},
    {"crc-16/cdma2000", 16, 0xC867, kOnes16, false, false, 0, 0x4C06},
    {"crc-16/cms", 16, 0x8005, kOnes16, false, false, 0, 0xAEE7},
    {"crc-16/dds-110", 16, 0x8005, 0x800D, false, false, 0, 0x9ECF},
    {"crc-16/dect-r", 16, 0x0589, 0, false, false, 0x0001, 0x007E},
    {"crc-16/dect-x", 16, 0x0589, 0, false, false, 0, 0x007F},
    {"crc-16/dnp", 16, 0x3D65, 0, true, true, kOnes16, 0xEA82},
    {"crc-16/en-13757", 16, 0x3D65, 0, false, false, kOnes16, 0xC2B7},
    {"crc-16/genibus", 16, 0x1021, kOnes16, false, false, kOnes16, 0xD64E},
    {"crc-16/gsm", 16, 0x1021, 0, false, false, kOnes16, 0xCE3C},
    {"crc-16/ibm-3740", 16, 0x1021, kOnes16, false, false, 0, 0x29B1},
    {"crc-16/ibm-sdlc", 16, 0x1021, kOnes16, true, true, kOnes16, 0x906E},
    {"crc-16/iso-iec-14443-3-a", 16, 0x1021, 0xC6C6, true, true, 0, 0xBF05},
    {"crc-16/kermit", 16, 0x1021, 0, true, true, 0, 0x2189},
    {"crc-16/maxim-dow", 16, 0x8005, 0, true, true, kOnes16, 0x44C2},
    {"crc-16/modbus", 16, 0x8005, kOnes16, true, true, 0, 0x4B37},
    {"crc-16/nrsc-5", 16, 0x080B, kOnes16, true, true, 0, 0xA066},
    {"crc-16/opensafety-a", 16, 0x5935, 0, false, false, 0, 0x5D38},
    {"crc-16/opensafety-b", 16, 0x755B, 0, false, false, 0, 0x20FE},
    {"crc-16/profibus", 16, 0x1DCF, kOnes16, false, false, kOnes16, 0xA819},
    {"crc-16/t10-dif", 16, 0x8BB7, 0, false, false, 0, 0xD0DB},
    {"crc-16/umts", 16, 0x8005, 0, false, false, 0, 0xFEE8},
    {"crc-16/usb", 16, 0x8005, kOnes16, true, true, kOnes16, 0xB4C8},
    {"crc-16/xmodem", 16, 0x1021, 0, false, false, 0, 0x31C3},
    {"crc-24/ble", 24, 0x00'065B, 0x55'5555, true, true, 0, 0xC2'5A56},
    {"crc-24/interlaken", 24, 0x32'8B63, kOnes24, false, false, kOnes24, 0xB4'F3E6},
    {"crc-24/lte-a", 24, 0x86'4CFB, 0, false, false, 0, 0xCD'E703},
    {"crc-24/lte-b", 24, 0x80'0063, 0, false, false, 0, 0x23'EF52},
    {"crc-24/openpgp", 24, 0x86'4CFB, 0xB7'04CE, false, false, 0, 0x21'CF02},
    {"crc-32/aixm", 32, 0x8141'41AB, 0, false, false, 0, 0x3010'BF7F},
    {"crc-32/autosar", 32, 0xF4AC'FB13, kOnes32, true, true, kOnes32, 0x1697'D06A},
    {"crc-32/bzip2", 32, 0x04C1'1DB7, kOnes32, false, false, kOnes32, 0xFC89'1918},
    {"crc-32/cksum", 32, 0x04C1'1DB7, 0, false, false, kOnes32, 0x765E'7680},
    {"crc-32/iscsi", 32, 0x1EDC'6F41, kOnes32, true, true, kOnes32, 0xE306'9283},
    {"crc-32/iso-hdlc", 32, 0x04C1'1DB7, kOnes32, true, true, kOnes32, 0xCBF4'3926},
    {"crc-32/jamcrc", 32, 0x04C1'1DB7, kOnes32, true, true, 0, 0x340B'C6D9},
    {"crc-32/mef", 32, 0x741B'8CD7, kOnes32, true, true, 0, 0xD2C2'2F51},
    {"crc-32/mpeg-2", 32, 0x04C1'1DB7, kOnes32, false, false, 0, 0x0376'E6E7},
    {"crc-32/xfer", 32, 0x0000'00AF, 0, false, false, 0, 0xBD0B'E338},
    {"crc-64/ecma-182", 64, kEcma182, 0, false, false, 0, 0x6C40'DF5F'0B49'7347},
    {"crc-64/go-iso", 64, 0x1B, kOnes64, true, true, kOnes64, 0xB909'56C7'75A4'1001},
    {"crc-64/we", 64, kEcma182, kOnes64, false, false, kOnes64, 0x62EC'59E3'F1A4'F00A},
    {"crc-64/xz", 64, kEcma182, kOnes64, true, true, kOnes64, 0x995D'C9BB'DF19'39FA},
};

std::uint64_t reflected(std::uint64_t value, unsigned width) {
  std::uint64_t out = 0;
  for (unsigned bit = 0; bit < width; ++bit) {
    out = out << 1 | (value >> bit & 1);
  }
  return out;
}

char small(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

}  // namespace

std::span<const CrcModel> crc_models() { return kModels; }

const CrcModel* find_crc_model(std::string_view name) {
  const auto* const found =
      std::find_if(std::begin(kModels), std::end(kModels), [name](const CrcModel& model) {
        return std::equal(name.begin(), name.end(), model.name.begin(), model.name.end(),
                          [](char given, char known) { return small(given) == known; });
      });
  return found == std::end(kModels) ? nullptr : found;
}

// The register is kept at the bottom of 64 bits where octets go in with the
// least significant bit first, at the top otherwise, so that one shift serves
// every width.
Crc::Crc(const CrcModel& model)
    : model_{model},
      start_{model.reflect_in ? reflected(model.start, model.width)
                              : model.start << (64 - model.width)} {
  constexpr std::uint64_t kTop = std::uint64_t{1} << 63;
  const std::uint64_t polynomial = model.reflect_in ? reflected(model.polynomial, model.width)
                                                    : model.polynomial << (64 - model.width);
  for (std::uint64_t octet = 0; octet < 256; ++octet) {
    std::uint64_t reg = model.reflect_in ? octet : octet << 56;
    for (int bit = 0; bit < 8; ++bit) {
      if (model.reflect_in) {
        reg = (reg & 1) != 0 ? reg >> 1 ^ polynomial : reg >> 1;
      } else {
        reg = (reg & kTop) != 0 ? reg << 1 ^ polynomial : reg << 1;
      }
    }
    tables_[0][octet] = reg;
  }
  for (std::size_t n = 1; n < tables_.size(); ++n) {
    for (std::size_t octet = 0; octet < 256; ++octet) {
      const std::uint64_t reg = tables_[n - 1][octet];
      tables_[n][octet] =
          model.reflect_in ? reg >> 8 ^ tables_[0][reg & 0xFF] : reg << 8 ^ tables_[0][reg >> 56];
    }
  }
}

std::uint64_t Crc::through_reflected(std::span<const std::uint8_t> octets) const {
  std::uint64_t reg = start_;
  std::size_t at = 0;
  for (; at + 8 <= octets.size(); at += 8) {
    std::uint64_t word = 0;
    for (std::size_t i = 0; i < 8; ++i) word |= std::uint64_t{octets[at + i]} << 8 * i;
    word ^= reg;
    reg = 0;
    for (std::size_t i = 0; i < 8; ++i) reg ^= tables_[7 - i][word >> 8 * i & 0xFF];
  }
  for (; at + 4 <= octets.size(); at += 4) {
    std::uint64_t word = 0;
    for (std::size_t i = 0; i < 4; ++i) word |= std::uint64_t{octets[at + i]} << 8 * i;
    word ^= reg;
    reg >>= 32;
    for (std::size_t i = 0; i < 4; ++i) reg ^= tables_[3 - i][word >> 8 * i & 0xFF];
  }
  for (; at < octets.size(); ++at) reg = tables_[0][(reg ^ octets[at]) & 0xFF] ^ reg >> 8;
  return reg;
}

std::uint64_t Crc::through_plain(std::span<const std::uint8_t> octets) const {
  std::uint64_t reg = start_;
  std::size_t at = 0;
  for (; at + 8 <= octets.size(); at += 8) {
    std::uint64_t word = 0;
    for (std::size_t i = 0; i < 8; ++i) word = word << 8 | octets[at + i];
    word ^= reg;
    reg = 0;
    for (std::size_t i = 0; i < 8; ++i) reg ^= tables_[i][word >> 8 * i & 0xFF];
  }
  for (; at + 4 <= octets.size(); at += 4) {
    std::uint64_t word = 0;
    for (std::size_t i = 0; i < 4; ++i) word = word << 8 | octets[at + i];
    word ^= reg >> 32;
    reg <<= 32;
    for (std::size_t i = 0; i < 4; ++i) reg ^= tables_[i][word >> 8 * i & 0xFF];
  }
  for (; at < octets.size(); ++at) reg = tables_[0][reg >> 56 ^ octets[at]] ^ reg << 8;
  return reg;
}

std::uint64_t Crc::of(std::span<const std::uint8_t> octets) const {
  std::uint64_t reg =
      model_.reflect_in ? through_reflected(octets) : through_plain(octets) >> (64 - model_.width);
  if (model_.reflect_in != model_.reflect_out) reg = reflected(reg, model_.width);
  return reg ^ model_.final_xor;
}

}  // namespace fieldfare
