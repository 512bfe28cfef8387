// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/atmosphere.h"

#include <cassert>
#include <cmath>
#include <iterator>

// Notation of ISO 2533: H geopotential altitude, beta lapse of temperature with
// H, p pressure, T thermodynamic temperature; subscript b at a layer's base.
namespace fieldfare::physics {
namespace {

constexpr double kStandardGravity = 9.80665;        // m/s^2
constexpr double kSpecificGasConstant = 287.05287;  // J/(kg K), ISO 2533
constexpr double kZeroCelsius = 273.15;             // K

struct Layer {
  double base_m;
  double lapse_k_per_m;
};
constexpr Layer kLayers[] = {{0, -6.5e-3}, {11'000, 0},       {20'000, 1.0e-3}, {32'000, 2.8e-3},
                             {47'000, 0},  {51'000, -2.8e-3}, {71'000, -2.0e-3}};

struct State {
  double pressure_pa;
  double temperature_k;
};

State climb(const State& from, double lapse_k_per_m, double height_m) {
  constexpr double kGravityOverGas = kStandardGravity / kSpecificGasConstant;
  const double temperature_k = from.temperature_k + lapse_k_per_m * height_m;
  const double exponent = lapse_k_per_m == 0 ? -kGravityOverGas * height_m / from.temperature_k
                                             : -kGravityOverGas / lapse_k_per_m *
                                                   std::log(temperature_k / from.temperature_k);
  return {from.pressure_pa * std::exp(exponent), temperature_k};
}

}  // namespace

Atmosphere standard_atmosphere(Metres altitude) {
  assert(altitude.value() >= -10'000 && altitude.value() <= kStandardAtmosphereM.high);
  State state{101'325, 288.15};
  const Layer* layer = kLayers;
  while (layer + 1 != std::end(kLayers) && layer[1].base_m < altitude.value()) {
    state = climb(state, layer->lapse_k_per_m, layer[1].base_m - layer->base_m);
    ++layer;
  }
  state = climb(state, layer->lapse_k_per_m, altitude.value() - layer->base_m);
  return {Hectopascals{state.pressure_pa / 100}, Celsius{state.temperature_k - kZeroCelsius}};
}

}  // namespace fieldfare::physics
