"""One workshop and one job in it, drawn by number: plane, lap, papers, hand, gauges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lapping.face import Face
from tests.campaign.angles import Square
from tests.campaign.body import Body, Head, Metal, cut
from tests.campaign.contact import Array, Cushion
from tests.campaign.dial import Dial
from tests.campaign.edges import LeavesOnPlate, Straightedge
from tests.campaign.surroundings import Grade, Hand, Make, Surface

Gauge = Dial | LeavesOnPlate | Straightedge


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Workshop:
    """All that one job starts with, most of which nobody in it knows.

    ``sheet_habit`` is after how many strokes the person takes a fresh sheet unasked,
    ``pause_min`` how long the plane lies before it is read, ``square_every`` after how
    many sessions the side is tried, ``mouth_every`` the same for the mouth.
    """

    kind: str
    number: int
    seed: int
    face: Face
    metal: Metal
    target_um: float
    target: str | None
    height_um: Array
    heads: tuple[Head, ...]
    flex_um: float
    thick_mm: float
    settles_min: float
    heating_k: float
    cushion: Cushion
    lap: Surface
    better_lap: Surface
    mapped: bool
    can_map: bool
    papers: tuple[Grade, ...]
    make: Make
    sheet_habit: int | None
    hand: Hand
    habit: int
    turns: bool
    gauge: Gauge
    better_gauge: Gauge | None
    square: Square | None
    square_every: int
    pause_min: float
    mouth_every: int | None
    mouth_mm: float
    bed_deg: float
    load_said: str

    def body(self) -> Body:
        """Give the plane as it is before the first stroke."""
        return Body(
            face=self.face,
            cells=cut(self.face),
            metal=self.metal,
            height_um=self.height_um.copy(),
            heads=self.heads,
            flex_um=self.flex_um,
            thick_mm=self.thick_mm,
            settles_min=self.settles_min,
            heating_k=self.heating_k,
        )

    def rng(self, what: int) -> np.random.Generator:
        """Give a source of chance of its own for each thing that is left to it."""
        return np.random.default_rng([self.seed, self.number, what])

    @property
    def outline(self) -> tuple[tuple[str, str], ...]:
        """Give the header lines that draw the face."""
        face = self.face
        found = [
            ("face", face.kind),
            ("length", f"{face.length_mm:g} mm"),
            ("width", f"{face.width_mm:g} mm"),
        ]
        mouth = face.mouth
        if mouth is not None:
            left, right = face.mouth_sides_mm()
            found.append(
                (
                    "mouth",
                    f"{mouth.from_mm:g} mm to {mouth.to_mm:g} mm, "
                    f"across {left:g} mm to {right:g} mm",
                )
            )
        if face.left_edge is not None:
            found.append(("left_edge", face.left_edge))
        return tuple(found)
