"""Leaves under a face on a plate, a straightedge along lines, and winding sticks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.campaign.body import Body, weights
from tests.campaign.contact import Array, Cushion, settle
from tests.campaign.dial import Readings, Row, mm, rows_along
from tests.campaign.leaves import Leaves
from tests.campaign.surroundings import Surface

HARD = Cushion(sinks_um=0.05, power=1.0, dish_um=0.0, reach_mm=1.0)
"""A plate does not give."""
LEAF_SECONDS = 25.0
EDGE_SECONDS = 18.0
FINE = 31
LIGHT_UM = 4.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LeavesOnPlate:
    """Leaves pushed in from the rim, with the face down on a plate."""

    name: str
    leaves: Leaves
    plate: Surface
    along: int = 7
    u_um: float = 4.5

    def read(self, body: Body, rng: np.random.Generator, *, finer: bool) -> Readings:
        """Set the plane down once and go round its rim."""
        face = body.face
        rows = rows_along(face, self.along + (3 if finer else 0), 3.0)
        places = [(a, c) for a in rows for c in (3.0, face.width_mm - 3.0)]
        places += [(a, face.width_mm / 2) for a in (3.0, face.length_mm - 3.0)]
        mouth = face.mouth
        if mouth is not None:
            middle = face.width_mm / 2
            places += [(mouth.from_mm - 3.0, middle), (mouth.to_mm + 3.0, middle)]
        at = weights(body, [p[0] for p in places], [p[1] for p in places])
        # A face that cools meanwhile settles anew; once, halfway, is near enough.
        body.rest(LEAF_SECONDS / 60 * len(places) / 2)
        gaps = at @ self._gaps(body)
        body.rest(LEAF_SECONDS / 60 * len(places) / 2)
        found: list[Row] = []
        for (along, across), gap in zip(places, gaps, strict=True):
            goes, stops = self.leaves.try_gap(float(gap), rng)
            found.append((mm(along), mm(across), goes, stops))
        headers = [("unit", "um"), *_of_leaves(self.leaves)]
        if self.plate.stated is not None:
            headers.append(("reference_flatness", self.plate.stated))
        return Readings(
            method="feeler",
            headers=tuple(headers),
            columns=("along", "across", "goes", "stops"),
            rows=tuple(found),
            row_minutes=(LEAF_SECONDS / 60,) * len(found),
        )

    def _gaps(self, body: Body) -> Array:
        cells, face = body.cells, body.face
        along = cells.along_mm + (self.plate.length_mm - face.length_mm) / 2
        across = (self.plate.width_mm + face.width_mm) / 2 - cells.across_mm
        top = (body.seen_um() + self.plate.at_um(along, across))[None, :]
        middle = np.array([[cells.along_mm.mean(), face.width_mm / 2]])
        kpa, _ = settle(
            cells, HARD, top, np.ones_like(top, dtype=np.bool_), 20.0, middle
        )
        # The plane through what touches is where the plate is; level by any three.
        touches = kpa[0] > 0
        terms = np.stack([np.ones_like(along), cells.along_mm, cells.across_mm], axis=1)
        sinks = kpa[0] / HARD.stiffness
        plane = np.linalg.lstsq(terms[touches], (top[0] - sinks)[touches], rcond=None)
        return np.asarray(np.maximum(terms @ plane[0] - top[0], 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Straightedge:
    """An edge with a bow of its own over lines along, across and from corner to corner.

    With ``sticks_mm`` the corners are left out and winding sticks show the twist.
    """

    name: str
    leaves: Leaves
    bow_um: float
    stated: str | None
    sticks_mm: float | None = None
    u_um: float = 4.0

    def read(self, body: Body, rng: np.random.Generator, *, finer: bool) -> Readings:
        """Lay the edge along every line once and try leaves at its stations."""
        face = body.face
        along = rows_along(face, 7 if finer else 5, 8.0)
        across = [6.0, face.width_mm / 2, face.width_mm - 6.0]
        lines = [(f"along {n}", [(a, c) for a in along]) for n, c in enumerate(across)]
        lines += [
            (f"across {n}", [(a, c) for c in across]) for n, a in enumerate(along)
        ]
        if self.sticks_mm is None:
            for name, (c0, c1) in (("down", (0, 2)), ("up", (2, 0))):
                ends = (along[0], across[c0]), (along[-1], across[c1])
                middle = tuple((p + q) / 2 for p, q in zip(*ends, strict=True))
                lines.append((name, [ends[0], (middle[0], middle[1]), ends[1]]))
        rows: list[Row] = []
        for name, places in lines:
            places = [one for one in places if face.is_metal(*one)]
            if len(places) < 2:
                continue
            body.rest(EDGE_SECONDS / 60 * len(places))
            for (a, c), gap in zip(places, self._gaps(body, places), strict=True):
                cells = ("no light", "")
                if gap >= LIGHT_UM:
                    cells = self.leaves.try_gap(gap, rng)
                rows.append((name, mm(a), mm(c), *cells))
        headers = [("unit", "um"), ("no_light", "5 um"), *_of_leaves(self.leaves)]
        if self.stated is not None:
            headers.append(("reference_flatness", self.stated))
        return Readings(
            method="straightedge",
            headers=tuple(headers),
            columns=("line", "along", "across", "goes", "stops"),
            rows=tuple(rows),
            row_minutes=(EDGE_SECONDS / 60,) * len(rows),
        )

    def wind(self, body: Body, rng: np.random.Generator) -> Readings:
        """Sight over a pair of sticks at both ends, twice."""
        face, stick = body.face, self.sticks_mm or 400.0
        ends = (15.0, face.length_mm - 15.0)
        leans = [self._lean(body, along) for along in ends]
        rows: list[Row] = []
        for _ in range(2):
            gap = (leans[1] - leans[0]) * stick / 1000 + rng.normal(0, 0.12)
            typed = round(gap / 0.25) * 0.25
            high = "none" if typed == 0 else "right" if typed > 0 else "left"
            rows.append((mm(ends[0]), mm(ends[1]), mm(stick), f"{abs(typed):g}", high))
        return Readings(
            method="winding",
            headers=(("unit", "mm"), ("repeatability", "0.15 mm")),
            columns=("along_1", "along_2", "stick", "gap", "high"),
            rows=tuple(rows),
            row_minutes=(1.0,) * len(rows),
        )

    def _gaps(self, body: Body, places: list[tuple[float, float]]) -> list[float]:
        """Give the gaps at the places of a line, under an edge on its two highest."""
        first, last = np.array(places[0]), np.array(places[-1])
        share = np.linspace(-0.04, 1.04, FINE)
        line = first + share[:, None] * (last - first)
        metal = np.array([body.face.is_metal(*one) for one in line])
        line, share = line[metal], share[metal]
        seen = body.seen_um()
        height = weights(body, line[:, 0].tolist(), line[:, 1].tolist()) @ seen
        bow = self.bow_um * (np.linalg.norm(last - first) / 300.0) ** 2
        over = height - bow * (2 * share - 1) ** 2
        at, slope = _rests(share, over)
        own = weights(body, [p[0] for p in places], [p[1] for p in places]) @ seen
        where = [
            float((np.array(p) - first) @ (last - first) / np.sum((last - first) ** 2))
            for p in places
        ]
        return [
            max(float(at + slope * s + bow * (2 * s - 1) ** 2 - h), 0.0)
            for s, h in zip(where, own, strict=True)
        ]

    def _lean(self, body: Body, along: float) -> float:
        """Give the slope, µm per mm, of a stick laid across.

        One that would tip on a hump is held with even gaps at both edges.
        """
        across = np.linspace(1.0, body.face.width_mm - 1.0, FINE)
        height = weights(body, [along] * FINE, across.tolist()) @ body.seen_um()
        at, slope = _rests(across, height)
        touches = across[at + slope * across - height < 1e-6]
        if np.ptp(touches) < body.face.width_mm / 2:
            return float((height[-1] - height[0]) / (across[-1] - across[0]))
        return slope


def _rests(share: Array, height: Array) -> tuple[float, float]:
    """Give height and slope of the line that rests on a profile, loaded in the middle.

    The facet of the upper hull over the middle, by trying every pair beside it.
    """
    middle = (share[0] + share[-1]) / 2
    left, right = np.nonzero(share <= middle)[0], np.nonzero(share > middle)[0]
    s0, s1 = share[left][:, None], share[right][None, :]
    h0, h1 = height[left][:, None], height[right][None, :]
    slope = (h1 - h0) / (s1 - s0)
    at_middle = h0 + slope * (middle - s0)
    i, j = np.unravel_index(int(at_middle.argmax()), at_middle.shape)
    lean = float(slope[i, j])
    return float(at_middle[i, j] - lean * middle), lean


def _of_leaves(leaves: Leaves) -> list[tuple[str, str]]:
    return [("leaves", ", ".join(str(one) for one in leaves.stamped_um))]
