// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/body_codec.h"

#include <gtest/gtest.h>

#include <set>

namespace fieldfare::wire {
namespace {

constexpr BodyFault kFaults[] = {
    BodyFault::too_short, BodyFault::too_long,      BodyFault::another_kind,
    BodyFault::bad_value, BodyFault::missing_field, BodyFault::bad_syntax,
    BodyFault::too_deep,  BodyFault::too_many,      BodyFault::does_not_fit};

TEST(BodyFault, HasAWordOfItsOwnForPrograms) {
  std::set<std::string_view> codes;
  for (const BodyFault fault : kFaults) codes.insert(body_fault_code(fault));
  EXPECT_EQ(codes.size(), std::size(kFaults));
  EXPECT_FALSE(codes.contains(""));
  EXPECT_EQ(body_fault_code(BodyFault::another_kind), "another-kind");
}

TEST(BodyError, NamesTheFieldAndThePlace) {
  fleet::FrameFacts frame;
  frame.fields.resize(2);
  frame.fields[1].name = "temperature_c";
  EXPECT_EQ(body_error_text({BodyFault::too_short, 9, 1}, frame),
            "the frame ends too early: field `temperature_c`, octet 9");
  EXPECT_EQ(body_error_text({BodyFault::too_long, 4, std::nullopt}, frame),
            "the frame goes on behind its last field: octet 4");
  EXPECT_EQ(body_error_text({BodyFault::bad_syntax, 0, std::nullopt}, frame),
            "the body is not well formed");
  EXPECT_EQ(body_error_text({BodyFault::bad_value, 0, 7}, frame),
            "what stands there is no value for its field");
}

}  // namespace
}  // namespace fieldfare::wire
