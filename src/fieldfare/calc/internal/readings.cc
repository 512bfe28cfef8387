// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/number_text.h"
#include "fieldfare/calc/internal/definition.h"
#include "fieldfare/physics/atmosphere.h"
#include "fieldfare/physics/humidity.h"
#include "fieldfare/physics/soil.h"

namespace fieldfare::calc {
namespace {

constexpr std::string_view kWmo8 = "WMO-No. 8, volume I, chapter 4, annex 4.B";

/// From where the formula still means something to the critical point of water.
Key air_temperature() {
  return number("t_c", from_to(-200, 373.9), "temperature in degrees Celsius");
}

Key humidity(const Bounds& bounds) {
  return number("rh_pct", bounds, "relative humidity over water in per cent");
}

std::string outside(std::string_view key, const physics::Range& range) {
  return '`' + std::string{key} + "` is outside the source's range of " + number_text(range.low) +
         " to " + number_text(range.high);
}

std::vector<std::string> saturation_notes(double t_c) {
  if (physics::kSaturationOverWaterC.holds(t_c)) return {};
  return {outside("t_c", physics::kSaturationOverWaterC)};
}

Outcome dew_point(const Inputs& in) {
  const double t_c = in.number("t_c");
  const Celsius dew = physics::dew_point(Celsius{t_c}, Percent{in.number("rh_pct")});
  Worked out{{{"dew_point_c", dew.value()}}, saturation_notes(t_c)};
  if (dew < Celsius{0}) out.notes.emplace_back("over water; the frost point lies higher");
  return out;
}

Outcome vapour_pressure(const Inputs& in) {
  const Celsius t{in.number("t_c")};
  Worked out{{{"saturation_hpa", physics::saturation_over_water(t).value()}},
             saturation_notes(t.value())};
  if (physics::kSaturationOverIceC.holds(t.value())) {
    out.notes.push_back("over water; over ice it is " +
                        number_text(physics::saturation_over_ice(t).value()) + " hPa");
  }
  return out;
}

Outcome absolute_humidity(const Inputs& in) {
  const double t_c = in.number("t_c");
  const double grams =
      physics::absolute_humidity_g_per_m3(Celsius{t_c}, Percent{in.number("rh_pct")});
  return Worked{{{"g_per_m3", grams}}, saturation_notes(t_c)};
}

Outcome standard_pressure(const Inputs& in) {
  const double altitude_m = in.number("altitude_m");
  const physics::Atmosphere air = physics::standard_atmosphere(Metres{altitude_m});
  Worked out{
      {{"pressure_hpa", air.pressure.value()}, {"temperature_c", air.temperature.value()}},
      {"geopotential altitude; the air of a day differs from the standard by some per cent"}};
  if (!physics::kStandardAtmosphereM.holds(altitude_m)) {
    out.notes.push_back(outside("altitude_m", physics::kStandardAtmosphereM));
  }
  return out;
}

Outcome soil_moisture(const Inputs& in) {
  const double permittivity = in.number("permittivity");
  Worked out{{{"vwc", physics::soil_moisture_topp(permittivity)}},
             {"mineral soils; organic and saline ones need their own calibration"}};
  if (!physics::kToppPermittivity.holds(permittivity)) {
    out.notes.push_back(outside("permittivity", physics::kToppPermittivity));
  }
  return out;
}

}  // namespace

std::vector<Definition> reading_calculators() {
  return {
      {{.name = "dew-point",
        .summary = "dew point of air",
        .keys = {air_temperature(), humidity(above_to(0, 100))},
        .source = kWmo8,
        .example = "t_c=20 rh_pct=50"},
       dew_point},
      {{.name = "vapour-pressure",
        .summary = "saturation vapour pressure over water",
        .keys = {air_temperature()},
        .source = kWmo8,
        .example = "t_c=20"},
       vapour_pressure},
      {{.name = "humidity-absolute",
        .summary = "water vapour in a cubic metre of air",
        .keys = {air_temperature(), humidity(from_to(0, 100))},
        .source = "WMO-No. 8 vapour pressure; ideal gas, 216.7 g K/(m3 hPa)",
        .example = "t_c=20 rh_pct=50"},
       absolute_humidity},
      {{.name = "standard-pressure",
        .summary = "pressure and temperature of the standard atmosphere",
        .keys = {number("altitude_m", from_to(-5000, physics::kStandardAtmosphereM.high),
                        "geopotential altitude in metres")},
        .source = "ISO 2533:1975",
        .example = "altitude_m=1000"},
       standard_pressure},
      {{.name = "soil-moisture-topp",
        .summary = "volumetric water content of soil from its permittivity",
        .keys = {number("permittivity", from_to(1, 100), "apparent relative permittivity")},
        .source = "G. C. Topp, J. L. Davis & A. P. Annan, Water Resour. Res. 16 (1980) 574-582",
        .example = "permittivity=20"},
       soil_moisture},
  };
}

}  // namespace fieldfare::calc
