#pragma once
#include <vector>

#include "photo_list.h"
#include "run.h"

namespace slipglass {

/// Finds the tubs of photos that neither name, label nor an earlier run tell: their grains are compared with
/// those of all tubs, and, where there is no plan, photos of a folder that all show one wall are of the tub
/// that the folder is named after. The others get a problem.
/// @param result  gets what came of it.
void settleTubs(std::vector<Item>& items, const Run& run, MeasureResult& result);

/// Whether nothing but its grains tells a photo's tub.
bool knownByGrains(const Item& item);

}  // namespace slipglass
