"""Readings as they were taken, before anything is worked out from them."""

from __future__ import annotations

import math
from collections.abc import Set
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from lapping.face import Face
from lapping.typed import shown

Method = Literal["dial", "feeler", "straightedge", "level", "winding", "square"]
METHOD_NAMES: dict[Method, str] = {
    "dial": "dial",
    "feeler": "feeler leaves",
    "straightedge": "straightedge",
    "level": "level",
    "winding": "winding sticks",
    "square": "square",
}
"""Each method and what people call its gauge."""
METHODS = tuple(METHOD_NAMES)
Sense = Literal["high-positive", "low-positive"]
Datum = Literal["gravity", "line"]
Toe = Literal["left", "right", "near", "far"]
FEWEST_PLACES = 3
ON_A_LINE_MM = 0.5
"""Places are written to about half a millimetre; closer to a line is on it."""
THINNEST_LEAF_UM = 10.0
THICKEST_LEAF_UM = 2000.0
"""What leaves are sold as, about; anything else is a wrong unit (common practice, no
source)."""
LEAF_TOLERANCE_UM = 5.0
"""Assumed limit of error of one leaf, rectangular; no standard's figure was found."""
NO_LIGHT_UM = 5.0
"""Assumed gap under a straightedge at which light begins to show."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DialReading:
    """One indicator reading; ``value_um`` keeps the sign that was typed."""

    along_mm: float
    across_mm: float
    value_um: float
    entered_as: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class FeelerReading:
    """The thickest leaf or stack that goes and the next that does not.

    ``stops_um`` is None where nothing was known to stop. ``goes_leaves`` and
    ``stops_leaves`` count the leaves of each stack, whose tolerances add.
    """

    along_mm: float
    across_mm: float
    goes_um: float
    stops_um: float | None
    goes_leaves: int
    stops_leaves: int
    seat: str
    entered_as: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeReading:
    """A gap under a straightedge laid along a named line.

    Either ``gap_um`` is the gap as measured, or it lies between ``goes_um`` and
    ``stops_um`` (None where nothing was known to stop). Larger gaps are lower places.
    """

    line_name: str
    along_mm: float
    across_mm: float
    gap_um: float | None
    goes_um: float
    stops_um: float | None
    goes_leaves: int
    stops_leaves: int
    seat: str
    entered_as: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelReading:
    """A slope from place 1 to place 2, positive when place 2 stands prouder."""

    line_name: str
    along_1_mm: float
    across_1_mm: float
    along_2_mm: float
    across_2_mm: float
    slope_um_per_m: float
    entered_as: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WindingReading:
    """The gap left over a stick's length with the sticks' other ends in line.

    ``high`` says which end stands high at ``along_2_mm``, seen with the toe away.
    A pair typed with the stick nearer the heel first is kept turned round, so that
    ``along_1_mm`` is always the smaller; twist does not change by that.
    """

    along_1_mm: float
    along_2_mm: float
    stick_mm: float
    gap_um: float
    high: Literal["left", "right", "none"]
    entered_as: str
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SquareReading:
    """The gap at one end of a square's blade held against a side, stock on the sole.

    ``side`` is the end of the blade, along the side's height, where the gap shows.
    """

    along_mm: float
    gap_um: float
    side: Literal["sole", "top"]
    entered_as: str
    line: int


Reading = (
    DialReading
    | FeelerReading
    | EdgeReading
    | LevelReading
    | WindingReading
    | SquareReading
)
Readings = (
    tuple[DialReading, ...]
    | tuple[FeelerReading, ...]
    | tuple[EdgeReading, ...]
    | tuple[LevelReading, ...]
    | tuple[WindingReading, ...]
    | tuple[SquareReading, ...]
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReferenceAt:
    """Where the face lay on its plate: the place (0, 0) of the face, in mm on it.

    The plate has its own frame, its left end at along 0 and its near edge at across
    0. ``toe`` is the way the toe points on it.
    """

    along_mm: float
    across_mm: float
    toe: Toe = "left"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingSet:
    """All readings of one file, with the gauge and the face they belong to.

    ``step_um`` is the smallest step typed: the largest 1-2-5 step that every typed
    number is a whole multiple of. For level readings it, ``resolution_um`` and
    ``repeatability_um`` are slopes, in micrometres per metre. ``target_um`` is the
    file's own target, if any. ``reference_grade`` is the standard's grade that
    ``reference_flatness_um`` was taken from, as typed, or None.
    """

    source: str
    method: Method
    face: Face
    unit: str
    readings: Readings
    step_um: float
    sense: Sense | None = None
    resolution_um: float | None = None
    repeatability_um: float | None = None
    reference_flatness_um: float | None = None
    reference_grade: str | None = None
    reference_at: ReferenceAt | None = None
    turned: Literal["half", "quarter"] | None = None
    leaves_um: tuple[float, ...] = ()
    leaf_tolerance_um: float = LEAF_TOLERANCE_UM
    stands_on_um: float | None = None
    no_light_um: float = NO_LIGHT_UM
    datum: Datum | None = None
    target_um: float | None = None
    metal: str | None = None
    warnings: tuple[str, ...] = ()


def leaf_trouble(typed: str, um: Fraction) -> str | None:
    """Say why no leaf can be so thick, or None if one can."""
    if um <= 0:
        return f"a leaf of {shown(typed)} cannot be; it has a thickness"
    if THINNEST_LEAF_UM <= um <= THICKEST_LEAF_UM:
        return None
    return (
        f"{shown(typed)} is {float(um):g} µm, and leaves are {THINNEST_LEAF_UM:g} µm "
        "to 2 mm thick; is the unit right?"
    )


def too_few_places(places: Set[tuple[float, float]]) -> str | None:
    """Say why places (along_mm, across_mm) cannot show a plane, or None if they can."""
    if len(places) < FEWEST_PLACES:
        return (
            f"readings at {len(places)} places cannot show a plane; read at least "
            f"{FEWEST_PLACES} that are not on one line"
        )
    if _on_one_line(places):
        return (
            "all places lie on one line, so nothing is seen to its sides; read a "
            "second line beside it"
        )
    return None


def _on_one_line(places: Set[tuple[float, float]]) -> bool:
    along0, across0 = min(places)
    along1, across1 = max(places, key=lambda s: math.dist(s, (along0, across0)))
    d_along, d_across = along1 - along0, across1 - across0
    span = math.hypot(d_along, d_across)
    return all(
        abs((along - along0) * d_across - (across - across0) * d_along)
        <= ON_A_LINE_MM * span
        for along, across in places
    )
