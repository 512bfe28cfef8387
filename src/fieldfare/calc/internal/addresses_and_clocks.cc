// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/address.h"
#include "fieldfare/calc/internal/definition.h"
#include "fieldfare/physics/clock.h"

namespace fieldfare::calc {
namespace {

Outcome unique_suffix(const Inputs& in) {
  const auto digits = unique_suffix_digits(in.addresses("addresses"));
  if (!digits) {
    return Failure<std::string>{
        "`addresses` holds one twice, or one that is the ending of another: no number of final "
        "digits tells them apart"};
  }
  return Worked{{{"digits", static_cast<double>(*digits)}}};
}

Outcome eui64(const Inputs& in) {
  const Address mac = in.addresses("mac").front();
  if (mac.digits != 12 || in.addresses("mac").size() != 1) {
    return Failure<std::string>{"`mac` must be one address of 12 hex digits"};
  }
  return Worked{{{"eui64", eui64_from_mac(mac).text()}}};
}

Outcome clock_drift(const Inputs& in) {
  const PartsPerMillion error{in.number("ppm")};
  return Worked{{{"seconds", physics::clock_drift_s(error, in.number("hours") * 3600)}}};
}

Outcome crystal_offset(const Inputs& in) {
  const physics::Crystal crystal{Celsius{in.number("turnover_c")}, in.number("beta_ppm_per_c2")};
  const double t_c = in.number("t_c");
  Worked out{{{"ppm", physics::crystal_offset(Celsius{t_c}, crystal).value()}},
             {"common practice for tuning-fork crystals; the part's own tolerance adds"}};
  if (t_c < -40 || t_c > 85) {
    out.notes.emplace_back("`t_c` is outside the usual range of such parts, -40 to 85");
  }
  return out;
}

Key addresses(std::string_view name, std::string_view meaning) {
  return {.name = name, .kind = KeyKind::addresses, .meaning = meaning};
}

}  // namespace

std::vector<Definition> address_and_clock_calculators() {
  return {
      {{.name = "unique-suffix",
        .summary = "how many final digits of the labels tell the nodes apart",
        .keys = {addresses("addresses", "the addresses, separated by commas")},
        .source = "by comparison",
        .example = "addresses=02005C1FA301,02005C1FA302,02005C1FB302"},
       unique_suffix},
      {{.name = "eui64-from-mac",
        .summary = "modified EUI-64 of a 48-bit address",
        .keys = {addresses("mac", "the 48-bit address")},
        .source = "RFC 4291, appendix A",
        .example = "mac=34-56-78-9A-BC-DE"},
       eui64},
      {{.name = "clock-drift",
        .summary = "how far a clock goes wrong",
        .keys = {number("ppm", from_to(-1e6, 1e6), "error in parts per million"),
                 number("hours", from_to(0, 1e9), "time since it was set")},
        .source = "error times time",
        .example = "ppm=20 hours=24"},
       clock_drift},
      {{.name = "crystal-offset",
        .summary = "frequency error of a tuning-fork crystal by temperature",
        .keys = {number("t_c", from_to(-273.15, 1000), "temperature in degrees Celsius"),
                 with_default(number("turnover_c", from_to(-273.15, 1000),
                                     "temperature at which it is fastest"),
                              "25"),
                 with_default(number("beta_ppm_per_c2", from_to(-10, 10),
                                     "curvature in ppm per square degree"),
                              "-0.034")},
        .source = "common practice",
        .example = "t_c=-20"},
       crystal_offset},
  };
}

}  // namespace fieldfare::calc
