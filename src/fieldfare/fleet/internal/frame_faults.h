// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/fleet/frame.h"

namespace fieldfare::fleet::internal {

// What bounds a layout. Decoders rely on it.
inline constexpr std::size_t kMostFields = 256;
inline constexpr int kMostRepetitions = 1024;
inline constexpr int kMostFrameOctets = 65'536;
inline constexpr std::size_t kMostDelimiterOctets = 16;
inline constexpr std::size_t kLongestFieldName = 100;  // a repeated one gets a number added
inline constexpr std::size_t kLongestText = 256;
inline constexpr std::size_t kDeepestPointer = 32;
inline constexpr std::size_t kMostCoefficients = 16;
inline constexpr std::size_t kMostWords = 4096;
inline constexpr int kMostColumns = 1024;

/// Collects faults of the frame, or of one of its fields.
class Faults {
 public:
  explicit Faults(const FrameFacts& frame) : frame_{frame} {}

  const FrameFacts& frame() const { return frame_; }
  void about_frame(std::string key, std::string what, std::string expected) {
    faults_.push_back({std::nullopt, std::move(key), std::move(what), std::move(expected)});
  }
  void about_field(std::size_t field, std::string key, std::string what, std::string expected) {
    faults_.push_back({field, std::move(key), std::move(what), std::move(expected)});
  }
  std::vector<FrameFault> take() { return std::move(faults_); }

 private:
  const FrameFacts& frame_;
  std::vector<FrameFault> faults_;
};

/// Adds what is wrong with the fields, their order and what they refer to.
void find_field_faults(Faults& faults);

/// Adds what is wrong with where one field stands and how it is written.
void find_place_faults(Faults& faults, std::size_t index);

/// What is wrong with a pointer of RFC 6901; empty where nothing is.
std::string pointer_fault(const std::string& pointer);

/// The number that a binary field is written as; null where it is none.
const NumberForm* number_form(const FieldLayout& field);

/// Bits of a number that are looked at.
int width_bits(const NumberForm& number);

}  // namespace fieldfare::fleet::internal
