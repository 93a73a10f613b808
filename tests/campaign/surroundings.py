"""What the face is rubbed on: the lap's shape, the sheets, and the hand."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from lapping.face import Face
from tests.campaign.contact import Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface:
    """A lap or plate: bows and twist over its whole size, and one round dip or hump."""

    name: str
    kind: str
    length_mm: float
    width_mm: float
    along_bow_um: float = 0.0
    across_bow_um: float = 0.0
    twist_um: float = 0.0
    dip_um: float = 0.0
    dip_along_mm: float = 0.0
    dip_across_mm: float = 0.0
    dip_reach_mm: float = 60.0
    stated: str | None = None

    def at_um(self, along_mm: Array, across_mm: Array) -> Array:
        """Give its height at places in its own frame; crown is positive."""
        a = 2 * along_mm / self.length_mm - 1
        c = 2 * across_mm / self.width_mm - 1
        apart = np.hypot(along_mm - self.dip_along_mm, across_mm - self.dip_across_mm)
        return np.asarray(
            -self.along_bow_um * a**2
            - self.across_bow_um * c**2
            + self.twist_um / 4 * a * c
            - self.dip_um * np.exp(-0.5 * (apart / self.dip_reach_mm) ** 2)
        )

    def copied_um(self, face: Face) -> tuple[float, float, float]:
        """Give along-bow, across-bow and twist of a face that has taken its shape."""
        along, across = (
            face.length_mm / self.length_mm, face.width_mm / self.width_mm
        )  # fmt: skip
        return (
            -self.along_bow_um * along**2,
            -self.across_bow_um * across**2,
            self.twist_um * along * across,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """A grade of paper: the name on its back and the size of its grain."""

    name: str
    grain_um: float


GRADES = (
    Grade(name="P80", grain_um=201),
    Grade(name="P120", grain_um=125),
    Grade(name="P180", grain_um=82),
    Grade(name="P220", grain_um=68),
    Grade(name="P240", grain_um=58.5),
    Grade(name="P320", grain_um=46.2),
    Grade(name="P400", grain_um=35),
)
"""Sizes: FEPA / ISO 6344, the average diameter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Make:
    """A make of paper: how fast it cuts, and how it ages and clogs.

    ``p80_um`` is what 100 strokes of 250 mm take off cast iron at 5 kPa with a fresh
    P80; a finer one takes less by a power of its grain. Its life is a stretched
    exponential of the strokes, with a floor; swarf clogs it and can be brushed out.
    """

    p80_um: float
    by_grain: float
    life_strokes: float
    life_power: float
    floor: float
    clogs: float
    by_pressure: float
    scratch_share: float

    def fresh_um(self, grade: Grade) -> float:
        """Give the first cut of a sheet, µm in 100 strokes at 5 kPa."""
        return float(self.p80_um * (grade.grain_um / 201.0) ** self.by_grain)

    def scratch_um(self, grade: Grade) -> float:
        """Give how deep its scratches are."""
        return self.scratch_share * grade.grain_um


@dataclass(slots=True, kw_only=True)
class Sheet:
    """One sheet on the lap, with what has been done on it."""

    grade: Grade
    make: Make
    strokes: float = 0.0
    swarf_um: float = 0.0

    @property
    def cuts(self) -> float:
        """Give its cut now as a share of its first."""
        make = self.make
        age = (self.strokes / make.life_strokes) ** make.life_power
        left = make.floor + (1 - make.floor) * float(np.exp(-age))
        return left / (1 + make.clogs * self.swarf_um / 20.0)

    def brush(self) -> None:
        """Brush most of the swarf out."""
        self.swarf_um *= 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    """How a person pushes: load, and where it goes through the face.

    ``swing`` is how far the load wanders to and fro in a stroke, as a share of the
    length; ``rock_mm`` the same across; ``off_mm`` how far off the centre line it is,
    ``off_along`` off the middle as a share of the length; ``tires_mm`` by how much
    ``off_mm`` wanders from session to session.
    """

    load_n: float = 60.0
    stroke_mm: float = 250.0
    per_minute: float = 40.0
    swing: float = 0.08
    rock_mm: float = 3.0
    off_mm: float = 0.0
    off_along: float = 0.0
    tires_mm: float = 0.3

    def told(self, share: float = 0.3) -> Hand:
        """Give the same hand after it was told to press evenly, as far as it can."""
        return replace(
            self,
            swing=min(self.swing, 0.03 + share * self.swing),
            rock_mm=share * self.rock_mm,
            off_mm=share * self.off_mm,
            off_along=share * self.off_along,
        )
