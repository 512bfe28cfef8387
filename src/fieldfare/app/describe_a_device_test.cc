// SPDX-License-Identifier: Apache-2.0
// The guide's worked example: its bytes, read by its sheet, are its readings.
#include <gtest/gtest.h>

#include <algorithm>
#include <charconv>
#include <fstream>
#include <iterator>
#include <sstream>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/site/load.h"
#include "fieldfare/wire/stream_decoder.h"

namespace fieldfare::app {
namespace {

constexpr Instant kArrived{1'772'435'700'000'000'000};

std::string read_guide() {
  std::ifstream in{FIELDFARE_SOURCE_DIR "/docs/guide/describe-a-device.md", std::ios::binary};
  EXPECT_TRUE(in.is_open());
  return {std::istreambuf_iterator<char>{in}, {}};
}

/// The first block of that language.
std::string block(const std::string& text, const std::string& language) {
  const std::string fence = "```" + language + '\n';
  const std::size_t from = text.find(fence);
  if (from == std::string::npos) return {};
  return text.substr(from + fence.size(),
                     text.find("```", from + fence.size()) - from - fence.size());
}

std::vector<std::uint8_t> bytes_of(const std::string& hex) {
  std::istringstream in{hex};
  std::vector<std::uint8_t> bytes;
  for (std::string pair; in >> pair;) {
    bytes.push_back(static_cast<std::uint8_t>(std::stoi(pair, nullptr, 16)));
  }
  return bytes;
}

/// The cells of the table's rows below its ruler, from where `title` stands.
std::vector<std::vector<std::string>> rows_behind(const std::string& text,
                                                  const std::string& title) {
  std::istringstream in{text.substr(text.find(title))};
  std::vector<std::vector<std::string>> rows;
  bool is_in_table = false;
  for (std::string line; std::getline(in, line);) {
    if (!line.starts_with("| ")) {
      if (is_in_table) break;
      continue;
    }
    is_in_table = true;
    std::istringstream cells{line.substr(2)};
    std::vector<std::string> row;
    for (std::string cell; std::getline(cells, cell, '|');) {
      if (const auto end = cell.find_last_not_of(' '); end != std::string::npos) {
        row.push_back(
            cell.substr(cell.find_first_not_of(' '), end + 1 - cell.find_first_not_of(' ')));
      }
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

/// Writes hearings as the guide's table does.
class Rows : public wire::HearingStream {
 public:
  explicit Rows(const fleet::Labels& labels) : labels_{labels} {}

  void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t>) override {
    EXPECT_EQ(hearing.time, kArrived);
    const fleet::NodeLabel& node = labels_.label(hearing.node);
    std::vector<std::string> row{node.address ? node.address->text() : "",
                                 std::to_string(hearing.sequence.value_or(0))};
    for (const std::string_view name : {"temperature_c", "humidity_pct"}) {
      const auto reading =
          std::find_if(hearing.readings.begin(), hearing.readings.end(),
                       [&](const auto& each) { return labels_.field_name(each.field) == name; });
      row.push_back(reading == hearing.readings.end() ? "" : rounded(reading->value));
    }
    row.push_back(rounded(hearing.supply_v.value_or(0)));
    rows.push_back(std::move(row));
  }
  void unread(const wire::Unread& unread) override { ADD_FAILURE() << unread.what; }

  std::vector<std::vector<std::string>> rows;

 private:
  /// To a millionth, so that 1110 hundredths are 11.1.
  static std::string rounded(double value) {
    std::ostringstream out;
    out.precision(9);
    out << value;
    return out.str();
  }

  const fleet::Labels& labels_;
};

TEST(DescribeADevice, TurnsTheGuidesBytesIntoTheGuidesReadings) {
  const std::string guide = read_guide();
  const auto loaded = site::load_site(
      {"", "site.name = \"here\"", {{"sheets/cellar-probe.toml", block(guide, "toml")}}});
  ASSERT_TRUE(loaded.has_value()) << loaded.error().front().text();
  const auto& sheets = loaded->site.node_sheets;
  const auto sheet = std::find_if(sheets.begin(), sheets.end(), [](const auto& each) {
    return each.head.name == "cellar-probe";
  });
  ASSERT_TRUE(sheet != sheets.end() && sheet->frame);

  fleet::Labels labels;
  wire::DecoderOptions options;
  options.known = {{sheet->head.name, &*sheet->frame, 0}};
  wire::StreamDecoder decoder{options, labels};
  Rows heard{labels};
  const auto bytes = bytes_of(block(guide, "hex"));
  decoder.feed(bytes, kArrived, heard);
  decoder.finish(kArrived, heard);

  const auto told = rows_behind(guide, "## 6. See the readings");
  ASSERT_EQ(told.size(), 5u) << "a head, a ruler and three rows";
  EXPECT_EQ(heard.rows, (decltype(told){told.begin() + 2, told.end()}));
  EXPECT_EQ(decoder.ledger().bytes_fed, bytes.size());
  EXPECT_EQ(decoder.ledger().bytes_lost, 0u);
}

}  // namespace
}  // namespace fieldfare::app
