#pragma once
#include <optional>
#include <vector>

#include "slipglass/panel/align.h"
#include "slipglass/panel/panel.h"
#include "wall_blocks.h"

namespace slipglass {

/// A step in height: what is above the line less what is below it, strip by strip, a little way off the line.
struct Step {
    Vote far;     ///< over up to 4 mm on either side
    Vote near;    ///< over the nearest mm only: as large as `far` for an edge, smaller for a slow change
    Vote beyond;  ///< further off than any root is thick: nothing where only a root or a scratch lies there
};

/// All that speaks for and against water's surface at one height.
struct LevelEvidence {
    double row = 0;  ///< panel row in the middle of the front, to a fraction
    Tilt tilt;
    double line = 0;        ///< how much brighter than just above and below, CIE L*, mean round the front
    double line_share = 0;  ///< share of the front on which it is brighter at all
    bool room = false;      ///< enough is seen above and below the line to compare the two
    bool compared = false;  ///< the first panel shows the place
    Step darker;            ///< log of luminance, above less below, today
    Step change;            ///< the same of today's luminance over the first panel's: the grains drop out
    Vote calmer;  ///< log of the grains' own contrast, above less below; with a first panel over the first's
    Vote richer;  ///< chroma over lightness, below less above
    double first_line = 0;  ///< brightest level line of the first panel within 0.6 mm of the same place
    Step first_darker;      ///< `darker` in the first panel
};

/// Rows that cannot be told: behind a wide label or glare.
struct HiddenBand {
    int top_row = 0, bottom_row = 0;  ///< first and last of them
    Vote across;                      ///< log of luminance just above less just below the band, today
    Vote change;                      ///< the same over the first panel's; no blocks where there is none
};

/// What can be known of the rows of a wall.
struct LevelSearch {
    bool foot_seen = false;                 ///< else there are no candidates and no bands
    std::vector<LevelEvidence> candidates;  ///< from the highest down
    std::vector<HiddenBand> hidden;
    int lowest_row = 0, highest_row = 0;  ///< rows searched; below is the tub's rounded heel
};

/// Looks at every height. Empty candidates where nothing stands out.
LevelSearch searchLevels(const Panel& panel, const std::optional<EarlierPanel>& first);

}  // namespace slipglass
