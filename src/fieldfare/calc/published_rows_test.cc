// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>

#include "fieldfare/calc/calculator.h"

// Every calculator, asked as a person would, against a value from outside. Where
// the values come from in more detail is said beside the tests of the functions.
namespace fieldfare::calc {
namespace {

/// The key of RFC 4493's examples, in a file of its own for each test program.
class KeyFile {
 public:
  KeyFile() : path_{std::filesystem::path{testing::TempDir()} / "fieldfare_published_rows.key"} {
    std::ofstream{path_} << "2b7e151628aed2a6abf7158809cf4f3c\n";
  }
  KeyFile(const KeyFile&) = delete;
  KeyFile& operator=(const KeyFile&) = delete;
  ~KeyFile() { std::remove(path_.c_str()); }

  /// The arguments with the file's real path put in for `key.hex`.
  std::vector<std::string> arguments(std::string_view typed) const {
    std::vector<std::string> out;
    std::istringstream words{std::string{typed}};
    for (std::string word; words >> word;) {
      out.push_back(word == "key_file=key.hex" ? "key_file=" + path_.string() : word);
    }
    return out;
  }

 private:
  std::filesystem::path path_;
};

const Value* find_result(const Answer& answer, std::string_view key) {
  for (const auto& [name, value] : answer.result) {
    if (name == key) return &value;
  }
  return nullptr;
}

struct NumberRow {
  const char* source;
  const char* name;
  const char* arguments;
  const char* key;
  double value;
  double tolerance;
};

constexpr const char* kNorris =
    "x=0.2,337.4,118.2,884.6,10.1,226.5,666.3,996.3,448.6,777.0,558.2,0.4,0.6,775.5,666.9,338.0,"
    "447.5,11.6,556.0,228.1,995.8,887.6,120.2,0.3,0.3,556.8,339.1,887.2,999.0,779.0,11.1,118.3,"
    "229.2,669.1,448.9,0.5 y=0.1,338.8,118.1,888.0,9.2,228.1,668.5,998.5,449.1,778.9,559.2,0.3,0.1,"
    "778.1,668.8,339.3,448.9,10.8,557.7,228.3,998.0,888.8,119.6,0.3,0.6,557.6,339.3,888.0,998.5,"
    "778.9,10.2,117.6,228.9,668.4,449.2,0.2";
constexpr const char* kAntibody =
    "x=0.0400,0.0550,0.1780,0.2020,0.2060,0.2270,0.2280,0.2300,0.2300,0.2350,0.2360,0.2370,0.2430,"
    "0.2440,0.2450,0.2555,0.2600,0.2640,0.2670,0.2700,0.2730,0.2740,0.2740,0.2780,0.2810,0.2870,"
    "0.2870,0.2880,0.2890,0.2950,0.2960,0.3110,0.3310,0.4246";
constexpr const char* kUranium = "x=199.31,199.53,200.19,200.82,201.92,201.95,202.18,245.57";
constexpr const char* kSen = "x=1,2,3,4,10,12,18 y=9,15,19,20,45,55,78";
constexpr const char* kThermistor = "a=1.129148e-3 b=2.34125e-4 c=8.76741e-8";

const NumberRow kNumbers[] = {
    {"Newcombe (1998), table I", "wilson", "k=81 n=263", "low", 0.2553, 1e-4},
    {"Newcombe (1998), table I", "wilson", "k=81 n=263", "high", 0.3662, 1e-4},
    {"Newcombe (1998), table I", "wilson", "k=0 n=20", "high", 0.1611, 1e-4},
    {"Newcombe (1998), from memory", "clopper-pearson", "k=81 n=263", "low", 0.2527, 1e-4},
    {"Newcombe (1998), from memory", "clopper-pearson", "k=81 n=263", "high", 0.3676, 1e-4},
    {"Wald, computed", "sprt", "loss_good=0.05 loss_bad=0.1", "slope", 0.072358, 1e-6},
    {"Wald, computed", "sprt", "loss_good=0.05 loss_bad=0.1", "expected_reports_good", 158.6, 0.1},
    {"Wald, computed", "sprt", "loss_good=0.1 loss_bad=0.3 alpha=0.02 beta=0.03", "intercept_low",
     -2.5826, 5e-4},
    {"Wald, computed", "sprt", "loss_good=0.1 loss_bad=0.3 alpha=0.02 beta=0.03",
     "expected_reports_bad", 23.82, 0.05},
    {"e-Handbook 6.3.2.3", "cusum-arl", "k=0.5 h=5", "arl", 465.4434, 1e-3},
    {"e-Handbook 6.3.2.3", "cusum-arl", "k=0.5 h=5 shift=1", "arl", 10.4, 0.05},
    {"integral equation, computed", "cusum-arl", "k=0.5 h=4 sided=1", "arl", 335.4, 0.05},
    {"e-Handbook 6.3.2.4", "ewma", "x=52,47,53,49.3,50.1 lambda=0.3 start=50", "last", 50.16,
     0.005},
    {"ISO 13528 example", "robust-mean", kAntibody, "sd", 0.0395, 5e-5},
    {"e-Handbook 1.3.5.17.1", "grubbs", kUranium, "statistic", 2.46876, 5e-6},
    {"e-Handbook 1.3.5.17.1", "grubbs", kUranium, "critical", 2.1266, 1e-4},
    {"e-Handbook 1.3.5.17.1", "grubbs", kUranium, "outlier", 245.57, 0},
    {"NIST StRD Norris", "fit-line", kNorris, "intercept", -0.262323073774029, 2.7e-13},
    {"NIST StRD Norris", "fit-line", kNorris, "slope_sd", 0.429796848199937e-3, 4e-15},
    {"NIST StRD Norris", "fit-line", kNorris, "residual_sd", 0.884796396144373, 1e-12},
    {"Sen (1968)", "fit-line", kSen, "slope", 4.0214, 5e-5},
    {"Sen (1968)", "theil-sen", kSen, "slope", 4, 1e-12},
    {"3-4-5 triangle", "en-number", "x=10.05 u_x=0.03 ref=10 u_ref=0.04", "en", 1, 1e-9},
    {"WMO-No. 8, computed", "dew-point", "t_c=20 rh_pct=50", "dew_point_c", 9.255, 0.001},
    {"WMO-No. 8, computed", "dew-point", "t_c=30 rh_pct=90", "dew_point_c", 28.178, 0.001},
    {"WMO-No. 8, computed", "vapour-pressure", "t_c=20", "saturation_hpa", 23.326, 0.001},
    {"WMO-No. 8, computed", "humidity-absolute", "t_c=20 rh_pct=50", "g_per_m3", 8.621, 0.001},
    {"ISO 2533", "standard-pressure", "altitude_m=1000", "pressure_hpa", 898.746, 0.009},
    {"ISO 2533", "standard-pressure", "altitude_m=1000", "temperature_c", 8.5, 1e-9},
    {"Topp (1980), computed", "soil-moisture-topp", "permittivity=20", "vwc", 0.34540, 1e-5},
    {"IEC 60751", "pt100", "t_c=100", "r_ohm", 138.5055, 5e-5},
    {"IEC 60751", "pt100", "r_ohm=60.2558", "t_c", -100, 1e-4},
    {"Steinhart & Hart, computed", "thermistor", "r_ohm=10000", "t_c", 24.9997, 1e-4},
    {"by definition", "loop-current", "ma=12 low=-20 high=60", "value", 20, 0},
    {"by hand", "unique-suffix", "addresses=02005C1FA301,02005C1FA302,02005C1FB302", "digits", 4,
     0},
    {"by hand", "clock-drift", "ppm=20 hours=24", "seconds", 1.728, 1e-12},
    {"common practice, computed", "crystal-offset", "t_c=-20", "ppm", -68.85, 1e-9},
};

struct TextRow {
  const char* source;
  const char* name;
  const char* arguments;
  const char* key;
  const char* text;
};

const TextRow kTexts[] = {
    {"CRC catalogue", "crc", "name=crc-16/ibm-sdlc hex=313233343536373839", "crc_hex", "906E"},
    {"Modbus V1.02, figure 30", "crc", "name=crc-16/modbus hex=02:07", "crc_hex", "1241"},
    {"RFC 1055, computed", "frame", "kind=slip op=encode hex=01C002DB03", "hex",
     "C001DBDC02DBDD03C0"},
    {"RFC 1662, computed", "frame", "kind=hdlc op=encode hex=7E", "hex", "7E7D5E816A7E"},
    {"RFC 1662, computed", "frame", "kind=hdlc op=decode hex=7E7D5E816A7E", "hex", "7E"},
    {"Cheshire & Baker", "frame", "kind=cobs op=encode hex=11220033", "hex", "031122023300"},
    {"RFC 4291, appendix A", "eui64-from-mac", "mac=34-56-78-9A-BC-DE", "eui64",
     "365678FFFE9ABCDE"},
    {"NE 43", "loop-current", "ma=21.5 low=0 high=1", "state", "failed_high"},
    {"NE 43", "loop-current", "ma=3.7 low=0 high=1", "state", "saturated_low"},
    {"RFC 4493, example 1", "cmac", "key_file=key.hex hex=", "cmac_hex",
     "BB1D6929E95937287FA37D129B756746"},
    {"RFC 4493, example 2, from memory", "cmac",
     "key_file=key.hex hex=6BC1BEE22E409F96E93D7E117393172A", "cmac_hex",
     "070A16B46B4D4144F79BDD9DD04A287C"},
    {"RFC 4493, example 3", "cmac",
     "key_file=key.hex "
     "hex=6BC1BEE22E409F96E93D7E117393172AAE2D8A571E03AC9C9EB76FAC45AF8E5130C81C46A35CE411",
     "cmac_hex", "DFA66747DE9AE63030CA32611497C827"},
};

TEST(Calculators, NumbersAgreeWithPublishedValues) {
  const KeyFile key_file;
  for (const NumberRow& row : kNumbers) {
    std::string typed = row.arguments;
    if (row.name == std::string_view{"thermistor"}) typed += std::string{" "} + kThermistor;
    const auto answer = calculate(row.name, key_file.arguments(typed));
    ASSERT_TRUE(answer) << row.name << ": " << answer.error();
    const Value* const value = find_result(*answer, row.key);
    ASSERT_NE(value, nullptr) << row.name << ' ' << row.key;
    EXPECT_NEAR(std::get<double>(*value), row.value, row.tolerance)
        << row.name << ' ' << row.key << ", " << row.source;
  }
}

TEST(Calculators, TextsAgreeWithPublishedValues) {
  const KeyFile key_file;
  for (const TextRow& row : kTexts) {
    const auto answer = calculate(row.name, key_file.arguments(row.arguments));
    ASSERT_TRUE(answer) << row.name << ": " << answer.error();
    const Value* const value = find_result(*answer, row.key);
    ASSERT_NE(value, nullptr) << row.name << ' ' << row.key;
    EXPECT_EQ(std::get<std::string>(*value), row.text) << row.name << ", " << row.source;
  }
}

TEST(Calculators, EachIsHeldToAPublishedValueAndItsExampleWorks) {
  std::set<std::string_view> held;
  for (const NumberRow& row : kNumbers) held.insert(row.name);
  for (const TextRow& row : kTexts) held.insert(row.name);
  const KeyFile key_file;
  for (const Calculator& calculator : list()) {
    EXPECT_TRUE(held.contains(calculator.name)) << calculator.name;
    const auto answer = calculate(calculator.name, key_file.arguments(calculator.example));
    EXPECT_TRUE(answer) << calculator.name << ": " << answer.error();
    EXPECT_FALSE(calculator.source.empty()) << calculator.name;
  }
}

/// `low 0.2553, high 0.3662`: the result as the table of the document shows it.
std::string in_a_line(const Answer& answer) {
  std::string text = to_text(answer);
  text.erase(0, text.find("gives\n") + std::string_view{"gives\n"}.size());
  std::istringstream lines{text};
  std::string out;
  for (std::string line; std::getline(lines, line) && line.starts_with("  ");) {
    std::istringstream words{line};
    std::string rest;
    for (std::string word; words >> word;) rest += (rest.empty() ? "" : " ") + word;
    out += (out.empty() ? "" : ", ") + rest;
  }
  return out;
}

std::string table_row(const Calculator& calculator, const Answer& answer) {
  std::string keys;
  for (const Key& key : calculator.keys) {
    keys += keys.empty() ? "" : " ";
    keys += key.name;
    if (key.fallback) keys += '=' + std::string{*key.fallback};
  }
  return "| " + std::string{calculator.name} + " | " + std::string{calculator.summary} + " | `" +
         keys + "` | `" + std::string{calculator.example} + "` | " + in_a_line(answer) + " | " +
         std::string{calculator.source} + " |";
}

TEST(Calculators, TheDocumentShowsEachWithItsExampleAndWhatThatGives) {
  std::ifstream file{FIELDFARE_SOURCE_DIR "/docs/methods/calculators.md"};
  ASSERT_TRUE(file);
  std::stringstream document;
  document << file.rdbuf();
  const KeyFile key_file;
  for (const Calculator& calculator : list()) {
    const auto answer = calculate(calculator.name, key_file.arguments(calculator.example));
    ASSERT_TRUE(answer) << calculator.name;
    const std::string row = table_row(calculator, *answer);
    EXPECT_NE(document.str().find(row), std::string::npos) << "docs/methods/calculators.md lacks\n"
                                                           << row;
  }
}

}  // namespace
}  // namespace fieldfare::calc
