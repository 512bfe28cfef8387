// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/body_codec.h"

#include <gtest/gtest.h>

#include <set>

#include "fieldfare/wire/body_test_support.h"

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

/// A count, and readings that come as often, in any body.
fleet::FrameFacts counted(fleet::Body body, fleet::FieldPlace count, fleet::FieldPlace reading) {
  fleet::FrameFacts frame;
  frame.body = body;
  frame.fields = {test::field("count", fleet::FieldRole::part, std::move(count)),
                  test::field("level_m", fleet::FieldRole::reading, std::move(reading))};
  frame.fields[1].repeat = fleet::Repeat{std::string{"count"}};
  frame.fields[1].optional = true;
  return frame;
}

TEST(BodyCodec, RefusesACountBeyondAllBoundsAtOnce) {
  // Going through so many repetitions, absent as they are, would take years.
  const fleet::NumberForm eight{fleet::NumberKind::unsigned_integer, 8, fleet::ByteOrder::big, {}};
  const fleet::NumberForm one{fleet::NumberKind::unsigned_integer, 1, fleet::ByteOrder::big, {}};
  const auto fault = [](const fleet::FrameFacts& frame, std::string_view body) {
    return test::decode(*make_body_codec(frame), body).fault();
  };
  const auto text = counted(fleet::Body::text, fleet::AtColumn{0}, fleet::AtColumn{1});
  const auto json = counted(fleet::Body::json, fleet::AtPointer{"/n"}, fleet::AtPointer{"/t"});
  const auto binary = counted(fleet::Body::binary, fleet::AtOctet{std::nullopt, eight},
                              fleet::AtOctet{std::nullopt, one});
  EXPECT_EQ(fault(binary, "\x7F-------1"), BodyFault::too_many);
  for (const std::string count : {"9000000000000000000", "1025", "-1", "1.5", "1e300"}) {
    EXPECT_EQ(fault(text, count + ",5"), BodyFault::too_many) << count;
    EXPECT_EQ(fault(json, R"({"n":)" + count + R"(,"t":[]})"), BodyFault::too_many) << count;
  }
}

}  // namespace
}  // namespace fieldfare::wire
