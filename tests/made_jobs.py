"""Invented jobs at an invented bench: a known face, strokes by the lap model, readings.

The lap model (`lap_model`) has another solver, hands that swing and a lap of any shape;
what is learnt from its faces is not learnt from the model that does the learning.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face, Mouth
from lapping.grits import Grit, parse_grit
from lapping.observations import plane_terms
from lapping.readings import ReadingSet
from lapping.removal.job import Job, Lap, Look, Run, Squared
from lapping.warmth import METALS
from lapping.wear.lap_contact import Cells, cells_of
from lapping.wear.lap_model import Sheet, rub
from lapping.wear.lap_strokes import LapSurface, Rubbing
from tests.made_readings import Shape, dial_set

Array = NDArray[np.float64]
SOLE = Face(
    length_mm=250.0,
    width_mm=60.0,
    mouth=Mouth(from_mm=80.0, to_mm=86.0, left_mm=5.0, right_mm=55.0),
)
NIGHT = datetime(2031, 3, 1, 20, 0, tzinfo=UTC)
PLACES = tuple(
    (float(along), float(across))
    for along in (6, 40, 76, 92, 125, 160, 200, 244)
    for across in (4, 30, 56)
)
P120 = parse_grit("P120")
PAPER = Sheet(
    stiffness_mpa_per_um=5e-4,
    preston_per_mpa=1e-4,
    fading_strokes=250.0,
    lasting_share=0.1,
)
STROKE = Rubbing(load_n=40.0, stroke_mm=200.0, sub_positions=4)


@dataclass(slots=True, kw_only=True)
class MadeBench:
    """A bench with one face; every act gets the next number and takes its time."""

    shape: Shape
    face: Face = SOLE
    target_um: float = 80.0
    noise_um: float = 2.0
    places: Sequence[tuple[float, float]] = PLACES
    paper: Sheet = PAPER
    stroke: Rubbing = STROKE
    lap: LapSurface | None = None
    known_lap: Lap | None = None
    seed: int = 1
    now: datetime = NIGHT
    looks: list[Look] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    squares: list[Squared] = field(default_factory=list)
    papers: tuple[Grit, ...] = ()
    number: int = 0
    age: float = 0.0
    rng: np.random.Generator = field(init=False)
    cells: Cells = field(init=False)
    height: Array = field(init=False)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)
        self.cells = cells_of(self.face, 25, 9)
        self.height = np.asarray(
            self.shape(self.cells.along_mm, self.cells.across_mm), dtype=np.float64
        )

    def next(self) -> int:
        self.number += 1
        return self.number

    def at(self, along: float, across: float) -> float:
        """Give the true height at a place, from the cells round it."""
        off = np.hypot(self.cells.along_mm - along, 2 * (self.cells.across_mm - across))
        near = np.argsort(off)[:6]
        terms = plane_terms(self.face, self.cells.along_mm, self.cells.across_mm)
        fit = np.linalg.lstsq(terms[near], self.height[near], rcond=None)[0]
        here = [
            1.0,
            2 * along / self.face.length_mm - 1,
            2 * across / self.face.width_mm - 1,
        ]
        return float(here @ fit)

    def reading(self, add: Shape | None = None) -> ReadingSet:
        """Read the face by dial, with something on top that is not there."""
        rows = []
        for along, across in self.places:
            more = 0.0
            if add is not None:
                more = float(add(np.array(along), np.array(across)))
            noise = self.rng.normal(0, self.noise_um)
            rows.append((along, across, self.at(along, across) + more + float(noise)))
        return dial_set(
            rows, face=self.face, repeatability_um=self.noise_um, resolution_um=1.0
        )

    def read(self, add: Shape | None = None, *, after_hours: float = 2.0) -> Look:
        self.now += timedelta(hours=after_hours)
        look = Look(number=self.next(), sets=(self.reading(add),), at=self.now)
        self.looks.append(look)
        return look

    def rub(
        self,
        strokes: float = 100.0,
        *,
        fresh: bool = False,
        cuts: float = 1.0,
        grit: Grit = P120,
        hand: str | None = None,
    ) -> Array:
        """Rub the face; ``cuts`` is the share of its due that the sheet gives."""
        if fresh or (self.runs and grit != self.runs[-1].grit):
            self.age = 0.0
        sheet = replace(self.paper, preston_per_mpa=cuts * self.paper.preston_per_mpa)
        before = self.height
        self.height = rub(
            self.cells, before, self.stroke, sheet, strokes, used=self.age, lap=self.lap
        ).height_um
        self.now += timedelta(minutes=strokes / 40)
        self.runs.append(
            Run(
                number=self.next(),
                grit=grit,
                strokes=strokes,
                sheet_age=self.age,
                aged_surely=True,
                fresh=fresh,
                at=self.now,
                hand=hand,
                lap=self.known_lap,
            )
        )
        self.age += strokes
        return np.asarray(before - self.height)

    def job(self) -> Job:
        return Job(
            label="Bramble/sole",
            face=self.face,
            metal=METALS["cast iron"],
            target_um=self.target_um,
            looks=tuple(self.looks),
            runs=tuple(self.runs),
            squares=tuple(self.squares),
            papers=self.papers,
        )
