#pragma once
#include <vector>

namespace slipglass {

/// Limits between which a true value may well lie.
struct Limits {
    double low = 0, high = 0;
};

/// `struck` of `of`: a count that is a share of another. 0 <= struck <= of.
struct Share {
    int struck = 0, of = 0;
};

constexpr double kConfidence = 0.95;  ///< of all limits, where none other is asked for

/// Wilson's score limits for a proportion, 0..1. 0 of n gives 0 below, n of n gives 1 above.
/// Source: Wilson 1927; method 3 of Newcombe, Statistics in Medicine 17:857-872, 1998.
/// @throws  std::invalid_argument unless 0 <= struck <= of and of > 0 (our bug); so do the others here.
Limits wilsonLimits(Share share, double confidence = kConfidence);

/// What two groups struck, inside one block (season, kind of tub) in which they can be compared.
struct BlockOfTwo {
    Share a, b;
};

/// A difference of two proportions, -1..1, with its limits.
struct Difference {
    double value = 0;
    Limits limits;
};

/// a - b with the hybrid score limits, method 10 of Newcombe, Statistics in Medicine 17:873-890, 1998.
Difference newcombeDifference(Share a, Share b, double confidence = kConfidence);

/// a - b within blocks: the mean of the blocks' differences weighted by of_a * of_b / (of_a + of_b) (Mantel
/// and Haenszel), its limits from each block's Wilson limits as Zou and Donner, Statistics in Medicine
/// 27:1693-1702, 2008, combine them. One block gives newcombeDifference. A block with one group only has no
/// weight.
/// @throws  std::invalid_argument when no block has both groups (our bug).
Difference differenceWithin(const std::vector<BlockOfTwo>& blocks, double confidence = kConfidence);

}  // namespace slipglass
