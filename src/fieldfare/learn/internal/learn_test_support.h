// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <string_view>

#include "fieldfare/learn/learn.h"

namespace fieldfare::learn::test {

/// A stretch of a stream whose arrival nobody noted.
inline Sample lines_of(std::string_view text) {
  Sample sample;
  sample.arrivals.push_back({{}, {text.begin(), text.end()}, false, {}});
  return sample;
}

/// The field of a role that comes once; one without a name where there is none.
inline const fleet::FieldLayout& field_of(const Learnt& learnt, fleet::FieldRole role) {
  static const fleet::FieldLayout none;
  if (!learnt.frame) return none;
  const auto& fields = learnt.frame->fields;
  const auto found = std::find_if(fields.begin(), fields.end(),
                                  [&](const auto& each) { return each.role == role; });
  EXPECT_NE(found, fields.end()) << "no field of role " << static_cast<int>(role);
  return found == fields.end() ? none : *found;
}

inline const fleet::FieldLayout& reading_of(const Learnt& learnt, std::string_view name) {
  static const fleet::FieldLayout none;
  if (!learnt.frame) return none;
  const auto& fields = learnt.frame->fields;
  const auto found = std::find_if(fields.begin(), fields.end(),
                                  [&](const auto& each) { return each.name == name; });
  EXPECT_NE(found, fields.end()) << "no field called " << name;
  return found == fields.end() ? none : *found;
}

/// The first finding of a part.
inline Finding finding_of(const Learnt& learnt, std::string_view part) {
  const auto found = std::find_if(learnt.findings.begin(), learnt.findings.end(),
                                  [&](const Finding& each) { return each.part == part; });
  EXPECT_NE(found, learnt.findings.end()) << "no finding about " << part;
  return found == learnt.findings.end() ? Finding{} : *found;
}

/// The finding about the field that is called so.
inline Finding finding_about(const Learnt& learnt, std::string_view name) {
  for (const Finding& each : learnt.findings) {
    if (each.field && learnt.frame && learnt.frame->fields[*each.field].name == name) return each;
  }
  ADD_FAILURE() << "no finding about the field " << name;
  return {};
}

}  // namespace fieldfare::learn::test
