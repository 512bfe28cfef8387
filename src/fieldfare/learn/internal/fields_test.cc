// SPDX-License-Identifier: Apache-2.0
// Readings found in octets. All devices and values here are invented.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <string>
#include <vector>

#include "fieldfare/base/random.h"
#include "fieldfare/learn/internal/readings.h"
#include "fieldfare/learn/internal/report_series.h"

namespace fieldfare::learn {
namespace {

using fleet::AtOctet;
using fleet::ByteOrder;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::NumberForm;
using fleet::NumberKind;
using fleet::Octets;
using fleet::OctetsForm;

constexpr NumberForm kU8{NumberKind::unsigned_integer, 1, ByteOrder::big, {}};
constexpr NumberForm kI8{NumberKind::signed_integer, 1, ByteOrder::big, {}};
constexpr NumberForm kU16be{NumberKind::unsigned_integer, 2, ByteOrder::big, {}};
constexpr NumberForm kU16le{NumberKind::unsigned_integer, 2, ByteOrder::little, {}};
constexpr NumberForm kI16be{NumberKind::signed_integer, 2, ByteOrder::big, {}};
constexpr NumberForm kU24be{NumberKind::unsigned_integer, 3, ByteOrder::big, {}};
constexpr NumberForm kU32le{NumberKind::unsigned_integer, 4, ByteOrder::little, {}};
constexpr NumberForm kF32be{NumberKind::real, 4, ByteOrder::big, {}};

void append(Octets& octets, const NumberForm& form, std::int64_t value) {
  for (int i = 0; i < form.octets; ++i) {
    const int significance = form.order == ByteOrder::little ? i : form.octets - 1 - i;
    octets.push_back(
        static_cast<std::uint8_t>(static_cast<std::uint64_t>(value) >> (8 * significance) & 0xFFU));
  }
}

/// A number that a made-up device sends: it wanders from a level of each node's own.
struct Wandering {
  NumberForm form;
  double level = 0;
  double between_nodes = 0;  ///< standard deviation of the nodes' levels
  double step = 1;           ///< standard deviation from one report to the next
};

/// Frames of five nodes, 40 in all, one after the other: `02 node`, then whatever `body`
/// appends, then `5A`. Octets 0, 1 and the last are taken.
template <class Body>
std::vector<Framed> frames_of(const Body& body, std::size_t nodes = 5, std::size_t frames = 40) {
  std::vector<Framed> made;
  for (std::size_t i = 0; i < frames; ++i) {
    Framed each;
    each.node = i % nodes;
    each.order = i / nodes;
    each.at = Instant{static_cast<std::int64_t>(i) * 60'000'000'000};
    each.octets = {0x02, static_cast<std::uint8_t>(17 * each.node)};
    body(each.octets, each.node);
    each.octets.push_back(0x5A);
    made.push_back(std::move(each));
  }
  return made;
}

std::vector<Taken> taken_of(const std::vector<Framed>& frames) {
  const std::size_t size = frames.front().octets.size();
  return {{0, 2}, {size - 1, size}};
}

const std::vector<std::string> kLabels = {"02:00", "02:11", "02:22", "02:33", "02:44"};

FieldGuesses guess(const std::vector<Framed>& frames,
                   const std::vector<InstrumentValue>& values = {}) {
  return guess_fields(frames, taken_of(frames), kLabels, values);
}

/// A device that sends these numbers one behind the other.
class Device {
 public:
  Device(std::uint64_t seed, std::vector<Wandering> numbers)
      : random_{seed, "device"}, numbers_{std::move(numbers)}, levels_(numbers_.size()) {
    for (std::size_t i = 0; i < numbers_.size(); ++i) {
      for (int node = 0; node < 5; ++node) {
        levels_[i].push_back(numbers_[i].level + numbers_[i].between_nodes * random_.normal());
      }
    }
  }

  void operator()(Octets& octets, std::size_t node) {
    for (std::size_t i = 0; i < numbers_.size(); ++i) {
      double& level = levels_[i][node];
      level += numbers_[i].step * random_.normal();
      append(octets, numbers_[i].form, std::llround(level));
    }
  }

  RandomStream& random() { return random_; }

 private:
  RandomStream random_;
  std::vector<Wandering> numbers_;
  std::vector<std::vector<double>> levels_;
};

std::vector<Framed> wandering(std::uint64_t seed, std::vector<Wandering> numbers) {
  Device device{seed, std::move(numbers)};
  return frames_of([&](Octets& octets, std::size_t node) { device(octets, node); });
}

/// The number that begins at an octet; nothing where none does.
std::optional<NumberForm> number_at(const FieldGuesses& guesses, int at) {
  for (const FieldLayout& each : guesses.fields) {
    const auto& place = std::get<AtOctet>(each.place);
    if (place.at != at) continue;
    if (const auto* number = std::get_if<NumberForm>(&place.form)) return *number;
  }
  return std::nullopt;
}

const FieldLayout* called(const FieldGuesses& guesses, const std::string& name) {
  const auto found = std::find_if(guesses.fields.begin(), guesses.fields.end(),
                                  [&](const FieldLayout& each) { return each.name == name; });
  return found == guesses.fields.end() ? nullptr : &*found;
}

const Finding* finding_of(const FieldGuesses& guesses, const FieldLayout* field) {
  for (const Finding& each : guesses.findings) {
    if (field && each.field && &guesses.fields[*each.field] == field) return &each;
  }
  return nullptr;
}

// --- numbers ------------------------------------------------------------------------

TEST(RawNumber, IsReadInEachForm) {
  EXPECT_EQ(raw_number({0x12, 0x34}, 0, kU16be), 0x1234);
  EXPECT_EQ(raw_number({0x12, 0x34}, 0, kU16le), 0x3412);
  EXPECT_EQ(raw_number({0xFF, 0xFF, 0xFE}, 0, {NumberKind::signed_integer, 3, {}, {}}), -65537)
      << "low octet first: FE FF FF";
  EXPECT_EQ(raw_number({0x19, 0x84}, 0, {NumberKind::bcd, 2, ByteOrder::big, {}}), 1984);
  EXPECT_FALSE(raw_number({0x1A, 0x84}, 0, {NumberKind::bcd, 2, ByteOrder::big, {}}));
  EXPECT_FALSE(raw_number({0x12}, 0, kU16be)) << "it would end outside";
  // IEEE 754: 0x41AC0000 = 1.34375 x 2^4 = 21.5; 0x7F800000 is infinity.
  EXPECT_EQ(raw_number({0x41, 0xAC, 0, 0}, 0, kF32be), 21.5);
  EXPECT_FALSE(raw_number({0x7F, 0x80, 0, 0}, 0, kF32be));
}

TEST(Readings, OfAnyWidthAndOrderAreToldApart) {
  const auto found = guess(wandering(
      1, {{kI16be, 20, 30, 15}, {kU8, 120, 20, 2}, {kU24be, 101'300, 40, 30}, {kU8, 60, 10, 1}}));
  EXPECT_EQ(number_at(found, 2), kI16be);
  EXPECT_EQ(number_at(found, 4), kU8);
  EXPECT_EQ(number_at(found, 5), kU24be);
  EXPECT_EQ(number_at(found, 8), kU8);
  EXPECT_FALSE(found.opaque);
}

TEST(Readings, WithTheLowOctetFirstAreToldByTheirSmoothness) {
  const auto found =
      guess(wandering(2, {{kU16le, 2300, 150, 25}, {kU32le, 70'000, 4000, 60}, {kU8, 90, 9, 2}}));
  EXPECT_EQ(number_at(found, 2), kU16le);
  EXPECT_EQ(number_at(found, 4), kU32le);
  EXPECT_EQ(number_at(found, 8), kU8);
}

TEST(Readings, AreSignedWhereTheyPassThroughZero) {
  const auto found = guess(wandering(3, {{kI8, 0, 2, 2}, {kU8, 128, 2, 2}}));
  EXPECT_EQ(number_at(found, 2), kI8);
  EXPECT_EQ(number_at(found, 3), kU8) << "127 to 128 is no jump of a number without a sign";
}

TEST(Readings, ThatNeverPassThroughZeroHaveAnOpenSign) {
  const auto found = guess(wandering(4, {{kU16be, 2200, 60, 12}}));
  ASSERT_EQ(number_at(found, 2), kU16be);
  const Finding* told = finding_of(found, &found.fields.front());
  ASSERT_NE(told, nullptr);
  EXPECT_NE(told->what.find("no value shows whether it has a sign"), std::string::npos);
  EXPECT_NE(told->decides.find("below 0"), std::string::npos);
  EXPECT_NE(told->sureness, Sureness::certain) << "nothing but a sheet makes a field certain";
}

TEST(Readings, AreRealNumbersWhereTheyAreRoundAsSuch) {
  RandomStream random{5, "real"};
  double level = 21.4;
  const auto frames = frames_of([&](Octets& octets, std::size_t) {
    level += 0.1 * std::round(3 * random.normal());
    const auto sent = static_cast<float>(std::round(level * 10) / 10);
    std::uint32_t bits = 0;
    std::memcpy(&bits, &sent, sizeof bits);
    append(octets, {NumberKind::unsigned_integer, 4, ByteOrder::big, {}}, bits);
  });
  EXPECT_EQ(number_at(guess(frames), 2), kF32be);
}

/// A device by chance, of one to eight numbers of usual sizes, in one byte order.
std::vector<Wandering> any_numbers(RandomStream& random) {
  std::vector<Wandering> numbers(1 + random.below(8));
  const ByteOrder order = random.bernoulli(0.5) ? ByteOrder::big : ByteOrder::little;
  for (Wandering& each : numbers) {
    const bool has_sign = random.bernoulli(0.5);
    constexpr int kWidths[] = {1, 1, 2, 2, 2, 3, 4};
    each.form = {has_sign ? NumberKind::signed_integer : NumberKind::unsigned_integer,
                 kWidths[random.below(7)],
                 order,
                 {}};
    if (each.form.octets == 1) each.form.order = ByteOrder::big;
    const double size = std::exp2(each.form.octets == 1 ? 6 : 8 + 6 * random.uniform());
    each.level = has_sign ? 0 : size;
    each.between_nodes = size / 10;
    each.step = std::exp2(each.form.octets == 1 ? 2 * random.uniform() : 6 * random.uniform());
  }
  return numbers;
}

TEST(Readings, OfDevicesMadeByChanceAreRightInNineOfTen) {
  int fields = 0;
  int right = 0;
  for (std::uint64_t seed = 0; seed < 100; ++seed) {
    RandomStream random{seed, "numbers"};
    const auto numbers = any_numbers(random);
    const auto found = guess(wandering(seed, numbers));
    int at = 2;
    for (const Wandering& each : numbers) {
      auto told = number_at(found, at);
      if (told && told->octets == 1) told->order = each.form.order;
      ++fields;
      if (told == each.form) ++right;
      at += each.form.octets;
    }
  }
  EXPECT_GE(right, 0.9 * fields) << right << " of " << fields;
}

// --- what holds of any --------------------------------------------------------------

bool is_same_field(const FieldLayout& a, const FieldLayout& b) {
  return a.name == b.name && a.role == b.role && a.place == b.place;
}

TEST(Readings, AreTheSameWithAConstantOctetBehindThem) {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    RandomStream random{seed, "numbers"};
    const auto frames = wandering(seed, any_numbers(random));
    auto longer = frames;
    // Behind what is taken, so that it is no neighbour that could be their high octet.
    for (Framed& each : longer) each.octets.push_back(0xC3);
    const auto before = guess_fields(frames, taken_of(frames), kLabels, {});
    const auto after = guess_fields(longer, taken_of(frames), kLabels, {});
    ASSERT_EQ(after.fields.size(), before.fields.size() + 1);
    for (std::size_t i = 0; i < before.fields.size(); ++i) {
      EXPECT_TRUE(is_same_field(after.fields[i], before.fields[i])) << seed;
    }
    EXPECT_EQ(std::get<AtOctet>(after.fields.back().place).form,
              (fleet::BinaryForm{OctetsForm{1, ByteOrder::big}}));
  }
}

TEST(Readings, DoNotDependOnTheNumbersOfNodesNorOnTheOrderOfFrames) {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    RandomStream random{seed, "numbers"};
    const auto frames = wandering(seed, any_numbers(random));
    auto other = frames;
    for (Framed& each : other) each.node = 4 - each.node;
    std::reverse(other.begin(), other.end());
    const auto a = guess(frames);
    const auto b = guess(other);
    ASSERT_EQ(a.fields.size(), b.fields.size()) << seed;
    for (std::size_t i = 0; i < a.fields.size(); ++i) {
      EXPECT_TRUE(is_same_field(a.fields[i], b.fields[i])) << seed;
    }
  }
}

TEST(Readings, AreLaidOutSoThatASheetCanHoldThem) {
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    RandomStream random{seed, "numbers"};
    const auto found = guess(wandering(seed, any_numbers(random)));
    fleet::FrameFacts frame;
    frame.fields = found.fields;
    EXPECT_TRUE(fleet::faults_of(frame).empty()) << seed;
    for (const Finding& each : found.findings) {
      EXPECT_LT(each.field.value_or(0), found.fields.size());
    }
  }
}

// --- what isn't a reading -------------------------------------------------------------

TEST(Readings, AreOpenWhereNothingIsRepeated) {
  const auto frames = frames_of([](Octets& octets, std::size_t) { octets.push_back(7); }, 5, 5);
  const auto found = guess(frames);
  EXPECT_TRUE(found.fields.empty());
  ASSERT_EQ(found.findings.size(), 1u);
  EXPECT_EQ(found.findings.front().sureness, Sureness::open);
}

TEST(Readings, OfNoFramesAreNone) {
  const auto found = guess_fields({}, {}, {}, {});
  EXPECT_TRUE(found.fields.empty());
  EXPECT_TRUE(found.findings.empty());
}

TEST(OpaqueBody, IsToldAndNothingReadFromIt) {
  RandomStream random{6, "cipher"};
  const auto frames = frames_of([&](Octets& octets, std::size_t) {
    octets.push_back(0x81);
    for (int i = 0; i < 12; ++i) octets.push_back(static_cast<std::uint8_t>(random.below(256)));
  });
  const auto found = guess(frames);
  EXPECT_TRUE(found.opaque);
  for (const FieldLayout& each : found.fields) EXPECT_EQ(each.role, FieldRole::part);
  EXPECT_EQ(found.findings.back().part, "body");
}

TEST(OpaqueBody, IsNoneWhereAReadingIsPlain) {
  RandomStream random{7, "cipher"};
  Device device{7, {{kU16be, 2200, 60, 12}}};
  const auto frames = frames_of([&](Octets& octets, std::size_t node) {
    device(octets, node);
    octets.push_back(0x81);
    for (int i = 0; i < 4; ++i) octets.push_back(static_cast<std::uint8_t>(random.below(256)));
  });
  const auto found = guess(frames);
  EXPECT_FALSE(found.opaque);
  EXPECT_EQ(number_at(found, 2), kU16be);
}

TEST(Network, IsWhatMostNodesShareAndOneDoesNot) {
  Device device{8, {{kU16be, 2200, 60, 12}}};
  const auto frames = frames_of([&](Octets& octets, std::size_t node) {
    append(octets, kU16be, node == 3 ? 0x1E77 : 0x4D21);
    device(octets, node);
  });
  const auto found = guess(frames);
  const FieldLayout* network = called(found, "network_2");
  ASSERT_NE(network, nullptr);
  EXPECT_EQ(network->role, FieldRole::network);
  EXPECT_EQ(number_at(found, 4), kU16be);
  EXPECT_EQ(finding_of(found, network)->part, "network");
}

TEST(Signal, IsAByteOfDbmAroundAMeanOfEachNode) {
  RandomStream random{9, "signal"};
  const auto frames = frames_of([&](Octets& octets, std::size_t node) {
    append(octets, kI8, std::llround(-60 - 7 * static_cast<double>(node) + 2.5 * random.normal()));
  });
  const auto found = guess(frames);
  const FieldLayout* signal = called(found, "rssi");
  ASSERT_NE(signal, nullptr);
  EXPECT_EQ(signal->role, FieldRole::rssi);
  EXPECT_EQ(number_at(found, 2), kI8);
  EXPECT_EQ(finding_of(found, signal)->sureness, Sureness::guess);
}

TEST(Supply, IsMillivoltsThatHardlyMove) {
  const auto found = guess(wandering(10, {{kU16be, 3020, 40, 1.5}}));
  const FieldLayout* supply = called(found, "supply");
  ASSERT_NE(supply, nullptr);
  EXPECT_EQ(supply->role, FieldRole::supply);
  EXPECT_EQ(supply->conversion.scale, 0.001);
}

// --- instruments ----------------------------------------------------------------------

TEST(Instrument, NamesAndScalesTheNumberThatAgrees) {
  const auto frames = wandering(11, {{kU16be, 5600, 300, 20}, {kI16be, 2140, 120, 10}});
  // What node 3 sent in its fifth report, as the thermometer beside it shows it.
  const Framed& beside = frames[4 * 5 + 3];
  const double celsius = std::round(*raw_number(beside.octets, 4, kI16be) / 10) / 10;
  const auto found = guess(frames, {{"temperature_c", celsius, 0.05, beside.at, "33"}});
  const FieldLayout* field = called(found, "temperature_c");
  ASSERT_NE(field, nullptr);
  EXPECT_EQ(std::get<AtOctet>(field->place).at, 4);
  EXPECT_EQ(field->role, FieldRole::reading);
  EXPECT_EQ(field->conversion.scale, 0.01);
  EXPECT_EQ(field->conversion.offset, 0);
  ASSERT_EQ(found.facts.size(), 1u);
  EXPECT_EQ(found.facts.front().name, "temperature_c");
  EXPECT_EQ(found.facts.front().resolution, 0.01);
  EXPECT_NE(called(found, "value_2_raw"), nullptr) << "the other stays without a name";
}

TEST(Instrument, TellsTheSignWhereTheNumberAloneDoesNot) {
  // Degrees Celsius that never fell below 0: a thermometer must be able to say so.
  const auto frames = wandering(13, {{kU16be, 2140, 60, 10}});
  EXPECT_EQ(number_at(guess(frames), 2), kU16be);
  const double celsius = std::round(*raw_number(frames[0].octets, 2, kU16be) / 10) / 10;
  const auto found = guess(frames, {{"temperature_c", celsius, 0.05, frames[0].at, "00"}});
  EXPECT_EQ(number_at(found, 2), kI16be);
}

TEST(Instrument, IsComparedWithWhatWasSentThenHoweverLongTheSample) {
  Device device{14, {{kU16be, 4000, 100, 10}}};
  constexpr std::size_t kFrames = 30'000;  // more octets than are read
  const auto frames =
      frames_of([&](Octets& octets, std::size_t node) { device(octets, node); }, 5, kFrames);
  const Framed& beside = frames[kFrames - 3];
  const double raw = *raw_number(beside.octets, 2, kU16be);
  ASSERT_GT(std::fabs(raw - *raw_number(frames[2].octets, 2, kU16be)), 200) << "it wandered";
  const auto found = guess(frames, {{"humidity_pct", raw / 100, 0.005, beside.at, "22"}});
  const FieldLayout* field = called(found, "humidity_pct");
  ASSERT_NE(field, nullptr);
  EXPECT_EQ(field->conversion.scale, 0.01);
}

TEST(Instrument, OfTheSupplyMakesItTheSupply) {
  const auto frames = wandering(12, {{kU16be, 2412, 4, 1.5}});
  const auto found = guess(frames, {{"supply_v", 2.41, 0.02, std::nullopt, ""}});
  const FieldLayout* supply = called(found, "supply");
  ASSERT_NE(supply, nullptr);
  EXPECT_EQ(supply->role, FieldRole::supply);
  EXPECT_EQ(supply->conversion.scale, 0.001);
  EXPECT_TRUE(found.facts.empty()) << "facts are of readings alone";
}

}  // namespace
}  // namespace fieldfare::learn
