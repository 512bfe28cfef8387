// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/octet_text.h"

#include <algorithm>

#include "fieldfare/wire/excerpt.h"

namespace fieldfare::wire {
namespace {

constexpr std::string_view kHexDigits = "0123456789ABCDEF";
constexpr std::string_view kStandard =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
constexpr std::string_view kForUrls =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

std::optional<unsigned> hex_digit(char c) {
  if (c >= '0' && c <= '9') return static_cast<unsigned>(c - '0');
  if (c >= 'A' && c <= 'F') return static_cast<unsigned>(c - 'A') + 10;
  if (c >= 'a' && c <= 'f') return static_cast<unsigned>(c - 'a') + 10;
  return std::nullopt;
}

std::optional<std::string_view> without_padding(std::string_view text) {
  if (!text.ends_with('=')) return text.size() % 4 == 1 ? std::nullopt : std::optional{text};
  if (text.size() % 4 != 0) return std::nullopt;
  text.remove_suffix(text.ends_with("==") ? 2 : 1);
  return text;
}

std::optional<fleet::Octets> octets_in(std::string_view alphabet, std::string_view digits) {
  fleet::Octets octets;
  std::uint32_t held = 0;
  unsigned bits = 0;
  for (const char c : digits) {
    const std::size_t digit = alphabet.find(c);
    if (digit == std::string_view::npos) return std::nullopt;
    held = (held << 6 | static_cast<std::uint32_t>(digit)) & 0xFFFF;
    bits += 6;
    if (bits < 8) continue;
    bits -= 8;
    octets.push_back(static_cast<std::uint8_t>(held >> bits));
  }
  if ((held & ((1U << bits) - 1)) != 0) return std::nullopt;
  return octets;
}

std::string text_in(std::string_view alphabet, std::span<const std::uint8_t> octets) {
  std::string text;
  std::uint32_t held = 0;
  unsigned bits = 0;
  for (const std::uint8_t octet : octets) {
    held = (held << 8 | octet) & 0xFFFF;
    bits += 8;
    for (; bits >= 6; bits -= 6) text += alphabet[held >> (bits - 6) & 0x3F];
  }
  if (bits > 0) text += alphabet[held << (6 - bits) & 0x3F];
  return text;
}

}  // namespace

bool is_label(std::string_view text) {
  const auto is_control = [](char c) { return static_cast<unsigned char>(c) < ' ' || c == 0x7F; };
  return well_formed_size(text) == text.size() &&
         std::none_of(text.begin(), text.end(), is_control);
}

std::optional<fleet::Octets> octets_of_hex(std::string_view text) {
  if (text.size() % 2 != 0) return std::nullopt;
  fleet::Octets octets;
  for (std::size_t i = 0; i < text.size(); i += 2) {
    const auto high = hex_digit(text[i]);
    const auto low = hex_digit(text[i + 1]);
    if (!high || !low) return std::nullopt;
    octets.push_back(static_cast<std::uint8_t>(*high << 4 | *low));
  }
  return octets;
}

std::string hex_of(std::span<const std::uint8_t> octets) {
  std::string text;
  for (const std::uint8_t octet : octets) {
    text += kHexDigits[octet >> 4];
    text += kHexDigits[octet & 0xF];
  }
  return text;
}

std::optional<fleet::Octets> octets_of_base64(std::string_view text) {
  const auto digits = without_padding(text);
  if (!digits) return std::nullopt;
  auto octets = octets_in(kStandard, *digits);
  return octets ? octets : octets_in(kForUrls, *digits);
}

std::string base64_of(std::span<const std::uint8_t> octets) {
  std::string text = text_in(kStandard, octets);
  while (text.size() % 4 != 0) text += '=';
  return text;
}

std::string base64url_of(std::span<const std::uint8_t> octets) { return text_in(kForUrls, octets); }

}  // namespace fieldfare::wire
