"""What the same metal costs by file, by scraper or on a surface grinder.

All figures are common practice without a source, in one place so that they can be
argued with. They are for one careful amateur with tools in order, or for one piece on
a machine that is standing ready in a shop; the way there is not counted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from lapping.face import Face
from lapping.warmth import Metal
from lapping.wear.flattening import Depth
from lapping.wear.rate_prior import NINE_IN_TEN

Range = tuple[float, float, float]
Way = Literal["file", "scrape", "grind"]

FACTOR = 3.0
"""Nine in ten are within this factor of the speeds below, either way."""
FILE_MM3_PER_MIN = 50.0
"""A coarse file on metal of 200 HB, with the time to find the high places again.
Softer metal files faster in proportion."""
FILE_HB = 200.0
FILE_MARKS_UM = 10.0
"""How deep the marks are that a file leaves for the paper."""
SCRAPE_UM_PER_PASS, SCRAPE_CM2_PER_MIN = 3.0, 10.0
"""One pass of the scraper with its blueing and trying on the plate."""
GRIND_UM_PER_PASS, GRIND_CM2_PER_MIN = 10.0, 60.0
SET_UP_MIN: Mapping[Way, float] = {"file": 15.0, "scrape": 15.0, "grind": 40.0}
"""Before the first chip; for the grinder the wheel dressed, shims under the corners
that rock, the other side cleaned up."""
LEAVES_UM: Mapping[Way, float] = {"file": 100.0, "scrape": 10.0, "grind": 15.0}
"""How flat each leaves a face of 250 mm or less, in the hands of one who can; of a
longer one, in proportion to its length."""
LEAVES_LENGTH_MM = 250.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WayThere:
    """One other way: hours few, likely and many, and how flat it leaves the face."""

    way: Way
    hours: Range
    leaves_um: float


def leaves_um(way: Way, length_mm: float) -> float:
    """Give how flat a way leaves a face of that length, in µm."""
    return LEAVES_UM[way] * max(1.0, length_mm / LEAVES_LENGTH_MM)


def other_way(
    way: Way, metal: Metal, *, face: Face, depth: Depth, out_um: float
) -> WayThere:
    """Give the hours of one way for a mean depth, and for a face so far out in all.

    A file and a scraper take off what stands proud; a grinder's wheel passes over the
    whole area until the lowest place is reached.
    """
    area_mm2 = face.length_mm * face.width_mm
    cm2 = area_mm2 / 100
    spread = depth.spread
    if way == "file":
        low, high = metal.hardness_hb
        speed = FILE_MM3_PER_MIN * FILE_HB / ((low + high) / 2)
        minutes = area_mm2 * depth.likely_um / 1000 / speed
    elif way == "scrape":
        passes = depth.likely_um / SCRAPE_UM_PER_PASS
        minutes = passes * cm2 / SCRAPE_CM2_PER_MIN
    else:
        minutes = out_um / GRIND_UM_PER_PASS * cm2 / GRIND_CM2_PER_MIN
    likely = (SET_UP_MIN[way] + minutes) / 60
    # Two doubts that have nothing to do with each other.
    factor = math.exp(math.hypot(NINE_IN_TEN * spread, math.log(FACTOR)))
    return WayThere(
        way=way,
        hours=(likely / factor, likely, likely * factor),
        leaves_um=leaves_um(way, face.length_mm),
    )
