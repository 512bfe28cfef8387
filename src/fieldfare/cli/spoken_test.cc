// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/spoken.h"

#include <gtest/gtest.h>

#include "fieldfare/fleet/endpoint.h"

namespace fieldfare::cli {
namespace {

fleet::Endpoint endpoint(const std::string& url) {
  const auto read = fleet::parse_endpoint(url);
  EXPECT_TRUE(read) << url << ": " << (read ? "" : read.error().text());
  return read ? *read : fleet::Endpoint{};
}

// Every value here is invented.
TEST(SpokenSource, APortIsReadWithItsSpeed) {
  fleet::SerialEndpoint port;
  port.device = "/dev/ttyUSB0";
  EXPECT_EQ(endpoint(url_of_port("/dev/ttyUSB0", "")), fleet::Endpoint{port});
  port.baud = 9600;
  EXPECT_EQ(endpoint(url_of_port("/dev/ttyUSB0", "9600")), fleet::Endpoint{port});
  port.device = "/dev/odd name?#%";
  EXPECT_EQ(endpoint(url_of_port(port.device, "9600")), fleet::Endpoint{port});
}

TEST(SpokenSource, ABrokerIsReadWithItsTopicAndUser) {
  fleet::MqttEndpoint broker;
  broker.host = "broker.example";
  broker.topic_filter = "dairy/+/#";
  EXPECT_EQ(endpoint(url_of_broker("mqtt://broker.example", "dairy/+/#")), fleet::Endpoint{broker});
  broker.user = "office";
  EXPECT_EQ(endpoint(url_of_broker("mqtt://broker.example/?user=office", "dairy/+/#")),
            fleet::Endpoint{broker});
}

TEST(SpokenSource, ASocketMayBeAPortAlone) {
  EXPECT_EQ(endpoint(url_of_udp("5005")), (fleet::Endpoint{fleet::UdpEndpoint{"0.0.0.0", 5005}}));
  EXPECT_EQ(endpoint(url_of_udp("127.0.0.1:5005")),
            (fleet::Endpoint{fleet::UdpEndpoint{"127.0.0.1", 5005}}));
}

TEST(SpokenSource, ALogIsAFileOrStandardInput) {
  EXPECT_EQ(endpoint(url_of_log("week 10.csv")),
            (fleet::Endpoint{fleet::FileEndpoint{"week 10.csv", false}}));
  EXPECT_EQ(endpoint(url_of_log("-")), (fleet::Endpoint{fleet::PipeEndpoint{"-"}}));
}

TEST(SpokenHint, AProvocationHasATimeAndPerhapsALabel) {
  const auto at = parse_rfc3339("2026-03-02T07:00:00Z");
  EXPECT_EQ(provoked_of("2026-03-02T07:00:00Z=5CE7"), std::pair(*at, std::string{"5CE7"}));
  EXPECT_EQ(provoked_of("2026-03-02T07:00:00Z"), std::pair(*at, std::string{}));
  EXPECT_FALSE(provoked_of("5CE7"));
}

TEST(SpokenHint, AValueIsAsExactAsItsLastDigit) {
  const auto value = value_of("temperature_c=21.4");
  ASSERT_TRUE(value);
  EXPECT_EQ(value->field, "temperature_c");
  EXPECT_EQ(value->value, 21.4);
  EXPECT_DOUBLE_EQ(value->tolerance, 0.05);
  EXPECT_DOUBLE_EQ(value_of("humidity_pct=48")->tolerance, 0.5);
}

TEST(SpokenHint, AValueMayHaveATimeAndALabel) {
  const auto value = value_of("temperature_c=-3.25@2026-03-02T07:00:00Z=5CE7");
  ASSERT_TRUE(value);
  EXPECT_EQ(value->value, -3.25);
  EXPECT_EQ(value->at, parse_rfc3339("2026-03-02T07:00:00Z"));
  EXPECT_EQ(value->digits, "5CE7");
  EXPECT_EQ(value_of("temperature_c=1=5CE7")->digits, "5CE7");
  EXPECT_FALSE(value_of("temperature_c=1@noon"));
  EXPECT_FALSE(value_of("temperature_c=warm"));
  EXPECT_FALSE(value_of("=1"));
}

}  // namespace
}  // namespace fieldfare::cli
