"""The bench as it is now: the plane, what it is rubbed on, and the book beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from math import radians, tan

import numpy as np

from tests.campaign.angles import map_lap
from tests.campaign.body import Body
from tests.campaign.contact import Array
from tests.campaign.diary import Diary
from tests.campaign.edges import Straightedge
from tests.campaign.folder import Book
from tests.campaign.rubbing import Way, rub
from tests.campaign.surroundings import Grade, Hand, Sheet, Surface
from tests.campaign.truth import Truth, truth
from tests.campaign.workshop import Gauge, Workshop

EVENING = datetime(2031, 3, 3, 19, 0, tzinfo=UTC)
SEEN, EYE = 1.2, 0.2
"""Scratches so many times deeper than the paper's own show, and the log-spread of it
from look to look; guesses."""
LOOK = 20
"""Every so many strokes the all-knowing see whether the face is within its target."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rubbed:
    """What one run of strokes did: ``cuts`` is the sheet's cut as a share of fresh."""

    strokes: int
    grade: str
    fresh: bool
    cuts: float
    most_um: float


class Bench:
    """One job under way. ``reached`` is the stroke at which it was truly within."""

    def __init__(self, shop: Workshop) -> None:
        self.shop = shop
        self.body: Body = shop.body()
        self.hand: Hand = shop.hand
        self.hand_said: str | None = None
        self.lap: Surface = shop.lap
        self.gauge: Gauge = shop.gauge
        self.sheet = Sheet(grade=shop.papers[0], make=shop.make)
        self.new_sheet = True
        self.lap_map = False
        self.strokes = 0
        self.reached: int | None = 0 if self.truth().works else None
        self.scratch_um: Array = np.zeros_like(self.body.height_um)
        self.rng = shop.rng(1)
        self.eye = shop.rng(2)
        self.book = Book(EVENING)
        self.diary = Diary(shop, self.book)
        self._toe_right = False
        self._told = 0
        if shop.mapped:
            self.read_lap()

    def truth(self) -> Truth:
        """Give the true figures now."""
        return truth(self.body, self.shop.target_um)

    @property
    def off_um(self) -> float:
        """Give how far the side is out of square now."""
        square = self.shop.square
        if square is None:
            return 0.0
        return square.off_um(self.truth().lean_um, self.shop.face.width_mm)

    def rub(
        self, strokes: int, grade: Grade, toward: tuple[float, float] = (0.0, 0.0)
    ) -> Rubbed:
        """Make a run of strokes and write it down."""
        if grade != self.sheet.grade:
            self.renew(grade)
        fresh, self.new_sheet = self.new_sheet, False
        room = self.lap.length_mm - self.body.face.length_mm
        way = Way(
            along_mm=self.lap.length_mm / 2 + float(self.rng.normal(0, 0.02)) * room,
            across_mm=self.lap.width_mm / 2,
            toe_right=self._toe_right,
        )
        before, share = self.body.height_um.copy(), self.sheet.cuts
        run = rub(
            self.body, self.lap, self.shop.cushion, self.sheet, self.hand, strokes,
            way=way, toward=toward,
        )  # fmt: skip
        done = 0
        for done in run:
            look = done % LOOK == 0 or done == strokes
            if self.reached is None and look and self.truth().works:
                self.reached = self.strokes + done
        self.strokes += done
        gone = before - self.body.height_um
        depth = self.shop.make.scratch_um(grade)
        self.scratch_um = np.maximum(self.scratch_um - gone, depth * (gone > 0.5))
        self.book.wait(strokes / self.hand.per_minute)
        self.diary.strokes(strokes, grade.name, fresh=fresh, hand=self.hand_said)
        self._toe_right ^= self.shop.turns
        self._tire()
        return Rubbed(
            strokes=strokes,
            grade=grade.name,
            fresh=fresh,
            cuts=(share + self.sheet.cuts) / 2,
            most_um=float(np.quantile(gone, 0.98)),
        )

    def press_evenly(self) -> None:
        """Press as told, as far as the hand can, and write that down from now on."""
        self.hand = self.hand.told()
        self._told += 1
        self.hand_said = f"over the middle third, told {self._told} times"

    def renew(self, grade: Grade) -> None:
        """Put a fresh sheet on the lap; the next strokes will say so."""
        self.sheet = Sheet(grade=grade, make=self.shop.make)
        self.new_sheet = True

    def scratch_left_um(self) -> float:
        """Give how deep the scratches are in most of the face, in µm."""
        return float(np.quantile(self.scratch_um, 0.8))

    def look_for_scratches(self) -> None:
        """Look in slanting light for deeper scratches than the paper's own; note it."""
        own = self.shop.make.scratch_um(self.sheet.grade)
        seen_from = SEEN * own * float(np.exp(self.eye.normal(0, EYE)))
        shows = self.scratch_left_um() > seen_from
        self.book.wait(0.5)
        self.diary.note("scratches" if shows else "no scratches")

    def wait(self, minutes: float) -> None:
        """Let the plane lie."""
        self.body.rest(minutes)
        self.book.wait(minutes)

    def read(self, *, finer: bool = False) -> float:
        """Read the face; give how warm its bow was at the first reading, in µm."""
        bow = self.body.bow_per_k * self.body.warm_k
        # Reading takes time, which the gauge counts for the plane and the book beside.
        taken = [self.gauge.read(self.body, self.rng, finer=finer)]
        if isinstance(self.gauge, Straightedge) and self.gauge.sticks_mm is not None:
            taken.append(self.gauge.wind(self.body, self.rng))
        for one in taken:
            self.diary.readings(one)
        return float(bow)

    def read_square(self) -> float:
        """Try the square against the side; give how far out it truly is."""
        square, off = self.shop.square, self.off_um
        assert square is not None
        self.diary.squares(square.read(off, self.rng))
        return off

    def read_mouth(self) -> None:
        """Measure how far the mouth has opened, and correct what is said of the plane.

        It grows by what is removed ahead of it, over the slopes of bed and front.
        """
        mouth = self.shop.face.mouth
        assert mouth is not None
        cells = self.body.cells
        near = np.abs(cells.along_mm - mouth.from_mm + 5) < 6
        gone = float(self.body.removed_um[near].mean()) / 1000
        grown = gone / tan(radians(self.shop.bed_deg))
        seen = self.shop.mouth_mm + grown + self.rng.normal(0, 0.015)
        self.diary.mouth(round(seen, 2))

    def read_lap(self) -> None:
        """Step a level over the lap and say that the lap has been measured."""
        self.lap_map = True
        self.diary.lap_map(self.lap, map_lap(self.lap, self.rng))

    def change_lap(self) -> None:
        """Go to a better lap; papers move over."""
        self.lap, self.lap_map = self.shop.better_lap, False
        self.diary.other_lap(self.lap)
        self.renew(self.sheet.grade)

    def _tire(self) -> None:
        hand = self.hand
        off = hand.off_mm + float(self.rng.normal(0, hand.tires_mm))
        most = max(abs(self.shop.hand.off_mm) * 1.2, 1.0)
        self.hand = replace(hand, off_mm=float(np.clip(off, -most, most)))
