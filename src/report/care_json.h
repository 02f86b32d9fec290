#pragma once
// The parts of season.json about care, weight, water and a tub's shared wall.
#include "json_values.h"
#include "slipglass/season/water_behaviour.h"

namespace slipglass {

Json careJson(const std::vector<CareEvent>& care);
Json weightJson(const std::vector<Weighing>& weight);
/// The part's own figures beside those of the point it belongs to; null where the photo does not tell it.
Json partJson(const Series& series, const Observation& seen);
Json waterJson(const std::vector<WaterBehaviour>& tubs);
Json mediaJson(const std::vector<MediumWater>& media);

}  // namespace slipglass
