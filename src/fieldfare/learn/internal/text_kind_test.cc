// SPDX-License-Identifier: Apache-2.0
// Lines at Tarn Dairy, invented; what must be found is how each was made up.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <functional>

#include "fieldfare/base/random.h"
#include "fieldfare/learn/internal/kinds.h"
#include "fieldfare/learn/internal/learn_test_support.h"

namespace fieldfare::learn {
namespace {

using fleet::AfterText;
using fleet::AtColumn;
using fleet::AtKey;
using fleet::FieldRole;
using test::field_of;
using test::finding_of;
using test::lines_of;

/// `count` lines, each made of its number.
std::string lines(int count, const std::function<std::string(int)>& line) {
  std::string text;
  for (int i = 0; i < count; ++i) text += line(i) + "\r\n";
  return text;
}

Learnt learnt(const Sample& sample) {
  const auto explained = learn_text(sample);
  EXPECT_TRUE(explained.has_value());
  if (!explained || !explained->learnt.frame) return {};
  EXPECT_TRUE(fleet::faults_of(*explained->learnt.frame).empty());
  return explained->learnt;
}

/// Node, counter and a temperature that swings.
std::string churn(int i) {
  return fmt::format("n{},{},{:.1f},{}", i % 3, 40 + i / 3, 4.5 + i * 7 % 10 * 0.1,
                     -70 - i * 11 % 20);
}

TEST(LearnText, FindsNodeAndCounterWithoutAnyName) {
  const Learnt found = learnt(lines_of(lines(30, churn)));
  ASSERT_TRUE(found.frame);
  EXPECT_EQ(found.frame->body, fleet::Body::text);
  EXPECT_EQ(found.frame->framing, fleet::Framing::line);
  EXPECT_EQ(field_of(found, FieldRole::name).place, (fleet::FieldPlace{AtColumn{0}}));
  EXPECT_EQ(field_of(found, FieldRole::sequence).place, (fleet::FieldPlace{AtColumn{1}}));
  EXPECT_EQ(field_of(found, FieldRole::rssi).place, (fleet::FieldPlace{AtColumn{3}}));
  EXPECT_EQ(found.nodes, (std::vector<std::string>{"n0", "n1", "n2"}));
  EXPECT_EQ(finding_of(found, "counter").sureness, Sureness::certain);
  EXPECT_EQ(finding_of(found, "signal").sureness, Sureness::guess) << "nothing but its range tells";
  EXPECT_EQ(found.sound, 30U);
}

/// With the exclusive or of all before it, in two hex digits.
std::string checked(const std::string& line) {
  unsigned sum = 0;
  for (const char c : line) sum ^= static_cast<unsigned char>(c);
  return line + fmt::format("{:02X}", sum);
}

TEST(LearnText, FindsTheCheckAtTheEndOfLinesAndLeavesDamagedOnesOut) {
  const auto line = [](int i) { return checked(churn(i) + ","); };
  const Learnt found = learnt(lines_of(lines(30, [&](int i) {
    std::string text = line(i);
    if (i % 6 == 5) text[1] = '9';
    return text;
  })));
  ASSERT_TRUE(found.frame && found.frame->check);
  EXPECT_EQ(found.frame->check->kind, fleet::CheckKind::exclusive_or);
  EXPECT_TRUE(found.frame->check->as_hex_digits);
  EXPECT_EQ(found.frame->check->at, -2);
  EXPECT_EQ(finding_of(found, "check").sureness, Sureness::certain);
  EXPECT_EQ(found.frames, 30U);
  EXPECT_EQ(found.sound, 25U);
  EXPECT_EQ(found.nodes, (std::vector<std::string>{"n0", "n1", "n2"}));
}

TEST(LearnText, CallsNoCheckWhatHoldsByChance) {
  RandomStream random{20260302, "lines without a check"};
  for (int trial = 0; trial < 60; ++trial) {
    const Learnt found = learnt(lines_of(
        lines(40, [&](int i) { return churn(i) + fmt::format(",{:02X}", random.below(256)); })));
    EXPECT_FALSE(found.frame && found.frame->check) << trial;
  }
}

TEST(LearnText, FindsAnAddressThatNoKeyNames) {
  Sample sample = lines_of(lines(30, [](int i) {
    return fmt::format("02-AA-00-{:02X}\tn={}\ttc={:.1f}", 0xC5 + i % 3, 40 + i / 3,
                       4.5 + i * 7 % 10 * 0.1);
  }));
  sample.labels = {"00C5", "00C7"};
  const Learnt found = learnt(sample);
  EXPECT_EQ(field_of(found, FieldRole::address).place, (fleet::FieldPlace{AtColumn{0}}));
  EXPECT_EQ(field_of(found, FieldRole::sequence).place, (fleet::FieldPlace{AtKey{"n"}}));
}

TEST(LearnText, TheRestOfATornLineIsNoReport) {
  const Learnt found = learnt(lines_of(lines(33, [](int i) {
    const std::string line = churn(i);
    return i == 7 ? line.substr(line.find(',') + 1) : line;
  })));
  EXPECT_EQ(found.sound, 32U);
  EXPECT_EQ(field_of(found, FieldRole::name).place, (fleet::FieldPlace{AtColumn{0}}));
}

TEST(LearnText, TakesTheSlotForTheNodeWhoseEndingsTheLabelsHave) {
  // Without labels either of the first two columns would do.
  Sample sample = lines_of(lines(40, [](int i) {
    return fmt::format("{},{},{},{}", 7 + i % 2, 31 + i % 2, i / 2, 20 + i % 7);
  }));
  EXPECT_EQ(finding_of(learnt(sample), "address").sureness, Sureness::guess);
  sample.labels = {"31", "2"};
  const Learnt found = learnt(sample);
  EXPECT_EQ(field_of(found, FieldRole::name).place, (fleet::FieldPlace{AtColumn{1}}));
  EXPECT_EQ(finding_of(found, "address").sureness, Sureness::certain);
}

TEST(LearnText, TakesDigitsAsLabelsHaveThemForAddresses) {
  const Learnt found = learnt(lines_of(lines(20, [](int i) {
    return fmt::format("02:4d:21:00:00:{:02x};{};{}", 0x5c + i % 2, i / 2, 4 + i % 3);
  })));
  EXPECT_EQ(field_of(found, FieldRole::address).name, "node");
  EXPECT_EQ(found.nodes, (std::vector<std::string>{"024D2100005C", "024D2100005D"}));
  EXPECT_EQ(found.frame->separator, ';');
}

TEST(LearnText, ReadsWordsWithNumbersBetweenInSeveralVariants) {
  const Learnt found = learnt(lines_of(lines(60, [](int i) {
    const std::string extra =
        i % 3 == 0 ? fmt::format(", temp {} C, humidity {} %", 2150 + i, 7000 + i * 3)
                   : std::string{};
    return fmt::format(
        "Dairy: node {}, message {}, tx time {} ms, battery {}{}, RSSI{} dBm, SNR {} dB, ok/bad: "
        "{}/3",
        i % 3, 9 + i / 3, 400 + i % 5, 330 - i / 6, extra, -70 - i % 20, i % 9, i);
  })));
  EXPECT_EQ(field_of(found, FieldRole::name).place, (fleet::FieldPlace{AfterText{"Dairy: node"}}));
  EXPECT_EQ(field_of(found, FieldRole::sequence).place, (fleet::FieldPlace{AfterText{"message"}}));
  EXPECT_EQ(field_of(found, FieldRole::rssi).place, (fleet::FieldPlace{AfterText{"RSSI"}}));
  EXPECT_EQ(field_of(found, FieldRole::snr).place, (fleet::FieldPlace{AfterText{"SNR"}}));
  EXPECT_EQ(field_of(found, FieldRole::supply).conversion.scale, 0.01);
  const fleet::FieldLayout& temperature = test::reading_of(found, "temperature_c");
  EXPECT_TRUE(temperature.optional);
  EXPECT_EQ(temperature.conversion.scale, 0.01);
  EXPECT_EQ(test::finding_about(found, "temperature_c").sureness, Sureness::guess)
      << "the unit alone can't be";
  EXPECT_FALSE(test::finding_about(found, "temperature_c").decides.empty());
  EXPECT_FALSE(test::reading_of(found, "tx_time_ms").optional);
  EXPECT_EQ(found.sound, 60U);
}

TEST(LearnText, TellsAWordFromAnotherThatHoldsIt) {
  // "time" stands in "tx time", too, and before it.
  const Learnt found = learnt(lines_of(lines(30, [](int i) {
    return fmt::format("tx time {} ms, node n{}, time {}, level {}", 5 + i % 4, i % 2,
                       1'767'225'600 + 60 * i, i % 5);
  })));
  EXPECT_EQ(field_of(found, FieldRole::time).place, (fleet::FieldPlace{AfterText{", time"}}));
  EXPECT_EQ(found.sound, 30U);
}

TEST(LearnText, ReadsLinesThatAProgramPutATimeInFrontOf) {
  const Learnt of_day = learnt(lines_of(lines(20, [](int i) {
    return fmt::format("12:{:02}:00.250 -> node {}, message {}, temp {:.1f} C", i, i % 2 + 1, i / 2,
                       4 + i % 3 * 0.5);
  })));
  EXPECT_EQ(field_of(of_day, FieldRole::name).place, (fleet::FieldPlace{AfterText{"node"}}));
  EXPECT_EQ(of_day.sound, 20U);
  const Learnt with_zone = learnt(lines_of(lines(20, [](int i) {
    return fmt::format("2026-01-01T00:{:02}:00Z node {}, message {}, temp {:.1f} C", i, i % 2 + 1,
                       i / 2, 4 + i % 3 * 0.5);
  })));
  EXPECT_EQ(field_of(with_zone, FieldRole::name).place, (fleet::FieldPlace{AfterText{"node"}}));
  EXPECT_EQ(field_of(with_zone, FieldRole::time).place,
            (fleet::FieldPlace{AfterText{"", fleet::TextCoding::plain, 0}}));
  EXPECT_EQ(with_zone.sound, 20U);
}

TEST(LearnText, ReadsKeysAndValues) {
  const Learnt found = learnt(lines_of(lines(24, [](int i) {
    return fmt::format("id=vat{} seq={} T={:.1f}{}", i % 2, i / 2, 3 + i * 3 % 7 * 0.1,
                       i % 4 == 0 ? "" : " vbat=3010");
  })));
  EXPECT_EQ(found.frame->separator, ' ');
  EXPECT_EQ(found.frame->assignment, '=');
  EXPECT_EQ(field_of(found, FieldRole::name).place, (fleet::FieldPlace{AtKey{"id"}}));
  EXPECT_EQ(field_of(found, FieldRole::sequence).place, (fleet::FieldPlace{AtKey{"seq"}}));
  EXPECT_EQ(test::reading_of(found, "temperature_c").place, (fleet::FieldPlace{AtKey{"T"}}));
  EXPECT_TRUE(field_of(found, FieldRole::supply).optional);
  EXPECT_EQ(field_of(found, FieldRole::supply).conversion.scale, 0.001);
}

TEST(LearnText, TakesNamesAndUnitsFromAHeaderAndPassesCommentsOver) {
  const Learnt found = learnt(
      lines_of("# Start\r\n# Mote ID, Msg #, Time (Unix), Bat mV, Temp C, Rel H %, Door\r\n" +
               lines(30, [](int i) {
                 return fmt::format("{}, {}, {}, {}, {:.2f}, {}, 0x{:02X}", 5 + i % 2, i / 2,
                                    1'767'225'600 + 30 * i, 3010 - i % 4, 4 + i % 9 * 0.25,
                                    60 + i % 5, i % 3);
               })));
  EXPECT_EQ(field_of(found, FieldRole::name).place, (fleet::FieldPlace{AtColumn{0}}));
  EXPECT_EQ(field_of(found, FieldRole::time).place, (fleet::FieldPlace{AtColumn{2}}));
  EXPECT_EQ(field_of(found, FieldRole::supply).conversion.scale, 0.001);
  EXPECT_EQ(test::finding_about(found, "supply").sureness, Sureness::likely);
  EXPECT_EQ(test::reading_of(found, "temperature_c").conversion.scale, 1);
  EXPECT_EQ(test::finding_about(found, "temperature_c").sureness, Sureness::likely);
  EXPECT_EQ(test::reading_of(found, "humidity_pct").place, (fleet::FieldPlace{AtColumn{5}}));
  EXPECT_EQ(test::reading_of(found, "door_raw").place,
            (fleet::FieldPlace{AtColumn{6, fleet::TextCoding::hex}}));
  EXPECT_EQ(found.frames, 32U);
  EXPECT_EQ(found.sound, 30U);
}

TEST(LearnText, ReadsDecimalCommas) {
  const Learnt found = learnt(lines_of(lines(20, [](int i) {
    return fmt::format("{} {} {},{:02} {},5", i % 2 + 1, i / 2, 4 + i % 3, i * 7 % 100, 20 + i % 4);
  })));
  EXPECT_EQ(found.frame->decimal, ',');
  EXPECT_EQ(found.frame->separator, ' ');
  EXPECT_EQ(found.sound, 20U);
}

TEST(LearnText, ReadsANumberInFrontOfOtherThings) {
  const Learnt found = learnt(lines_of(lines(20, [](int i) {
    return fmt::format("[vat{}, {}/4##, {:.1f}V, {}]", i % 2, i / 2, 3 + i % 3 * 0.1, i % 5);
  })));
  EXPECT_EQ(field_of(found, FieldRole::sequence).place,
            (fleet::FieldPlace{AfterText{"", fleet::TextCoding::plain, 1}}));
  EXPECT_EQ(found.sound, 20U);
}

TEST(LearnText, KeepsTimesOfClocksThatDisagreeOut) {
  const Learnt found = learnt(lines_of(lines(40, [](int i) {
    return fmt::format("node={} seq={} time={}", i % 2, i / 2,
                       1'767'225'600 + 60 * i + i % 2 * 400'000);
  })));
  EXPECT_TRUE(std::none_of(found.frame->fields.begin(), found.frame->fields.end(),
                           [](const auto& field) { return field.role == FieldRole::time; }));
  EXPECT_EQ(finding_of(found, "time").sureness, Sureness::guess);
}

TEST(LearnText, IsCertainOfATimeThatAgreesWithTheArrivals) {
  Sample sample;
  for (int i = 0; i < 20; ++i) {
    const std::string line =
        fmt::format("vat{};{};{}\n", i % 2, i / 2, 1'767'225'600'000 + 60'000LL * i);
    sample.arrivals.push_back({Instant{(1'767'225'600 + 60LL * i) * 1'000'000'000 + 250'000'000},
                               {line.begin(), line.end()},
                               false,
                               {}});
  }
  const Learnt found = learnt(sample);
  EXPECT_EQ(field_of(found, FieldRole::time).conversion.scale, 0.001);
  EXPECT_EQ(finding_of(found, "time").sureness, Sureness::certain);
}

TEST(LearnText, LetsTheFirstLineBeShorterThanTheOthers) {
  const Learnt found = learnt(lines_of(lines(30, [](int i) {
    const std::string line = fmt::format("vat{} {} {}", i % 2, i / 2, i * 7 % 5);
    return i % 10 == 0 ? line : line + fmt::format(" {} {}", 9 + i % 4, i % 3);
  })));
  EXPECT_EQ(found.sound, 30U);
}

TEST(LearnText, CountsLinesOfAnotherKind) {
  const Learnt found = learnt(lines_of(
      lines(30, [](int i) { return i % 10 == 9 ? std::string{"time request, 5"} : churn(i); })));
  EXPECT_EQ(found.frames, 30U);
  EXPECT_EQ(found.sound, 27U);
  EXPECT_NE(finding_of(found, "kinds").what.find("3 of 30"), std::string::npos);
}

TEST(LearnText, SaysSoWhereNothingTellsWhoseAReportIs) {
  const Learnt found = learnt(lines_of(
      "seq,rssi\n" + lines(20, [](int i) { return fmt::format("{},{}", i, -80 - i % 7); })));
  EXPECT_EQ(finding_of(found, "address").sureness, Sureness::open);
  EXPECT_FALSE(finding_of(found, "address").decides.empty());
}

TEST(LearnText, NamesNeitherOfTwoCountersThatExplainAsMuch) {
  const Learnt found = learnt(lines_of(
      lines(20, [](int i) { return fmt::format("vat,{},{},{}", 5 + i, 90 + i, i * 7 % 5); })));
  EXPECT_EQ(finding_of(found, "counter").sureness, Sureness::guess);
  EXPECT_FALSE(finding_of(found, "counter").decides.empty());
}

TEST(LearnText, LearnsWidthAndStartOfACounter) {
  EXPECT_EQ(learnt(lines_of(lines(40,
                                  [](int i) {
                                    return fmt::format("vat{},{},{}", i % 2, (240 + i / 2) % 256,
                                                       i * 7 % 5);
                                  })))
                .sequence.bits,
            8);
  const Learnt found = learnt(lines_of(lines(
      60, [](int i) { return fmt::format("vat{},{},{}", i % 2, 1 + i / 2 % 12, i * 7 % 5); })));
  EXPECT_EQ(found.sequence.starts_at, 1U);
}

TEST(LearnText, MarksTheValuesOfOneLine) {
  const Learnt found = learnt(lines_of(lines(20, churn)));
  const std::string example{found.example.begin(), found.example.end()};
  ASSERT_EQ(found.marks.size(), 4U);
  EXPECT_EQ(example.substr(found.marks[0].from, found.marks[0].to - found.marks[0].from), "n0");
  EXPECT_EQ(found.marks[1].what, "seq");
  EXPECT_EQ(example.substr(found.marks[1].from, found.marks[1].to - found.marks[1].from), "40");
}

TEST(LearnText, PinsANumberByAnInstrument) {
  Sample sample = lines_of(lines(20, [](int i) {
    return fmt::format("vat{},{},{},{}", i % 2, i / 2, 214 + i % 2, 900 + i % 7);
  }));
  sample.values = {{"temperature_c", 21.4, 0.2, {}, {}}};
  const Learnt found = learnt(sample);
  const fleet::FieldLayout& temperature = test::reading_of(found, "temperature_c");
  EXPECT_EQ(temperature.place, (fleet::FieldPlace{AtColumn{2}}));
  EXPECT_DOUBLE_EQ(temperature.conversion.scale, 0.1);
}

TEST(LearnText, LearnsFromMessagesOfOneLine) {
  Sample sample;
  for (int i = 0; i < 12; ++i) {
    const std::string line = churn(i);
    sample.arrivals.push_back({{}, {line.begin(), line.end()}, true, "tarn/dairy"});
  }
  EXPECT_EQ(learnt(sample).frame->framing, fleet::Framing::none);
}

TEST(LearnText, LeavesOctetsThatAreNoTextToOthers) {
  Sample sample;
  fleet::Octets octets;
  for (int i = 0; i < 2000; ++i) octets.push_back(static_cast<std::uint8_t>(i * 37 % 251));
  sample.arrivals.push_back({{}, octets, false, {}});
  EXPECT_FALSE(learn_text(sample));
  EXPECT_FALSE(learn_text({}));
  EXPECT_FALSE(learn_text(lines_of("\n\n\n")));
  EXPECT_FALSE(learn_text(lines_of("hello\nworld\n")));
}

}  // namespace
}  // namespace fieldfare::learn
