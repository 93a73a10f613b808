"""The history of one face: what was done to it and read on it, in order.

A job holds facts only, gathered from a log or made by another program. Everything in
it has a number; what was entered later has the larger one, whatever the clock said.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from lapping.errors import BadInput
from lapping.face import Face
from lapping.grits import Grit
from lapping.one_face import shown_in
from lapping.readings import ReadingSet
from lapping.remarks import SAID_NOTHING, Remark
from lapping.squareness import Squareness
from lapping.surface.form import Form
from lapping.units import MICROMETRES, HeightUnit
from lapping.warmth import Metal

COOLING_MINUTES = 60.0
"""An hour after hard rubbing a plane is cool: common practice, no source."""
STROKES_PER_MINUTE = 40.0
"""Where only minutes were said: a push and its return in a second and a half. Common
practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lap:
    """What is known of a lap: a stated flatness, or the form and size it was read to.

    ``flatness_um`` is None where nothing was stated, ``form`` where it was not read.
    """

    name: str
    flatness_um: float | None = None
    form: Form | None = None
    face: Face | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A run of strokes on one sheet; ``sheet_age`` counts strokes on it before these.

    ``aged_surely`` says that the sheet was marked fresh, so that its age is known.
    """

    number: int
    grit: Grit
    strokes: float
    sheet_age: float = 0.0
    aged_surely: bool = False
    fresh: bool = False
    at: datetime | None = None
    load_kg: float | None = None
    hand: str | None = None
    direction: str | None = None
    lap: Lap | None = None
    remark: Remark = SAID_NOTHING

    def __post_init__(self) -> None:
        """Refuse strokes that cannot be."""
        if not 0 < self.strokes < float("inf"):
            message = f"'strokes' must be more than 0 (got {self.strokes:g})"
            raise BadInput(message)
        if not 0 <= self.sheet_age < float("inf"):
            message = f"'sheet_age' must not be negative (got {self.sheet_age:g})"
            raise BadInput(message)


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """The face as it was read at one time: all sets with no strokes between them.

    ``at`` is None where the clock does not say when it was read, and ``entered_at``
    is when it came into the log. ``unit`` is that of sentences about it, if not that
    of the readings.
    """

    number: int
    sets: tuple[ReadingSet, ...]
    at: datetime | None = None
    entered_at: datetime | None = None
    remark: Remark = SAID_NOTHING
    unit: HeightUnit | None = None

    @property
    def shown_in(self) -> HeightUnit:
        """Give the unit for sentences about it."""
        return self.unit or shown_in(self.sets)


@dataclass(frozen=True, slots=True, kw_only=True)
class Squared:
    """Squareness of one side of the plane, as read at one time."""

    number: int
    side: str
    found: Squareness


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauged:
    """A length read at one time, in mm: the mouth's opening or the body's thickness."""

    number: int
    mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """All that a log says of one face and of what its plane must keep.

    ``target_um`` is None where none was set. ``told`` are remarks about the
    face by number, ``photos`` the numbers of photos.
    """

    label: str
    face: Face
    metal: Metal
    target_um: float | None = None
    looks: tuple[Look, ...] = ()
    runs: tuple[Run, ...] = ()
    squares: tuple[Squared, ...] = ()
    mouths: tuple[Gauged, ...] = ()
    thicknesses: tuple[Gauged, ...] = ()
    told: tuple[tuple[int, Remark], ...] = ()
    photos: tuple[int, ...] = ()
    papers: tuple[Grit, ...] = ()
    bed_deg: float | None = None
    front_deg: float | None = None
    weight_g: float | None = None
    warnings: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a history that is told out of order."""
        for what, many in (("runs", self.runs), ("looks", self.looks)):
            numbers = [one.number for one in many]
            if numbers != sorted(set(numbers)):
                message = (
                    f"{self.label}: the {what} are not in the order they were entered "
                    f"(numbers {', '.join(map(str, numbers[:10]))}); sort them by "
                    "number, each number once"
                )
                raise BadInput(message)

    def runs_between(self, after: int, before: float = float("inf")) -> tuple[Run, ...]:
        """Give the runs entered after one number and before another."""
        return tuple(r for r in self.runs if after < r.number < before)

    @property
    def shown_in(self) -> HeightUnit:
        """Give the unit for sentences about the face: that of its newest readings."""
        return self.looks[-1].shown_in if self.looks else MICROMETRES

    def said_in(self, unit: HeightUnit) -> Job:
        """Give the same history, to be told in another unit than it was read in."""
        return replace(self, looks=tuple(replace(one, unit=unit) for one in self.looks))

    @property
    def times_read(self) -> int:
        """Give how often the face was read since the last strokes, warm or cold.

        Winding sticks belong to the edge or leaves they were laid beside.
        """
        last = max((run.number for run in self.runs), default=0)
        sets = [one for look in self.looks if look.number > last for one in look.sets]
        return len([s for s in sets if s.method not in ("square", "winding")])
