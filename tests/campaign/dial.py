"""Where a person reads, and an indicator on a stand that rides on a plate."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lapping.face import Face
from tests.campaign.body import Body, weights
from tests.campaign.contact import Array
from tests.campaign.surroundings import Surface

Row = tuple[str, ...]
SECONDS = 11.0
"""How long a person takes for a reading, with writing it down; a guess."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """A set as it was written down: header lines, columns, rows, and what each took."""

    method: str
    headers: tuple[tuple[str, str], ...]
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    row_minutes: tuple[float, ...]


def mm(value: float) -> str:
    """Write a place as a person does, to half a millimetre at most."""
    return f"{round(2 * value) / 2:g}"


def rows_along(face: Face, many: int, rim_mm: float = 6.0) -> list[float]:
    """Give places along: both ends, both sides of the mouth, the rest spread evenly."""
    ends = [rim_mm, face.length_mm - rim_mm]
    mouth = face.mouth
    if mouth is None:
        return [float(v) for v in np.linspace(ends[0], ends[1], many)]
    found = [*ends, mouth.from_mm - 5.0, mouth.to_mm + 6.0]
    while len(found) < many:
        found.sort()
        gaps = np.diff(found)
        widest = int(gaps.argmax())
        found.append(float(found[widest] + gaps[widest] / 2))
    return sorted(found)


def grid_places(body: Body, many: tuple[int, int]) -> list[tuple[float, float]]:
    """Give the places of a pattern on metal, and the heads beside it."""
    face = body.face
    across = np.linspace(4.5, face.width_mm - 4.5, many[1])
    found = [
        (round(2 * a) / 2, round(2 * float(c)) / 2)
        for a in rows_along(face, many[0])
        for c in across
    ]
    found = [one for one in found if face.is_metal(*one)]
    heads = [(head.along_mm, head.across_mm) for head in body.heads]
    return found + [one for one in heads if one not in found]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dial:
    """An indicator: repeats to ``noise_um``, is read to ``step_um``, may be misread."""

    name: str
    noise_um: float
    step_um: float
    many: tuple[int, int]
    stated: bool
    plate: Surface
    high_positive: bool = True
    drift_um: float = 0.0
    misread: float = 0.002

    @property
    def u_um(self) -> float:
        """Give the standard uncertainty of one reading."""
        return float(np.hypot(self.noise_um, self.step_um / 12**0.5))

    def read(self, body: Body, rng: np.random.Generator, *, finer: bool) -> Readings:
        """Read the pattern, the first place once more at the end.

        A ``finer`` one has other places too: more rows, and five in each.
        """
        many = (self.many[0] + 4, 5) if finer else self.many
        places = grid_places(body, many)
        places = [*places, places[0]]
        at = weights(body, [p[0] for p in places], [p[1] for p in places])
        plate = self._plate(body, np.array(places))
        lean = rng.normal(0, 0.3, 2)
        sign = 1.0 if self.high_positive else -1.0
        drift = rng.normal(0, self.drift_um)
        zero = rng.uniform(-200, 200)
        rows: list[Row] = []
        for one, (along, across) in enumerate(places):
            body.rest(SECONDS / 60)
            true = float(at[one] @ body.seen_um()) - plate[one]
            seen = true + lean[0] * along + lean[1] * across + zero
            seen += drift * one / len(places) + rng.normal(0, self.noise_um)
            if rng.random() < self.misread:
                seen += float(rng.choice([-100.0, -50.0, 50.0, 100.0]))
            typed = round(sign * seen / self.step_um) * self.step_um
            rows.append((mm(along), mm(across), f"{typed:.6g}"))
        headers = [
            ("unit", "um"),
            ("sense", "high-positive" if self.high_positive else "low-positive"),
            ("resolution", f"{self.step_um:g} um"),
        ]
        if self.stated:
            headers.append(("repeatability", f"{self.u_um:.2g} um"))
        if self.plate.stated is not None:
            headers.append(("reference_flatness", self.plate.stated))
        return Readings(
            method="dial",
            headers=tuple(headers),
            columns=("along", "across", "reading"),
            rows=tuple(rows),
            row_minutes=(SECONDS / 60,) * len(rows),
        )

    def _plate(self, body: Body, places: Array) -> Array:
        # It stands in the middle of the plate, and the foot of the stand beside it.
        along = places[:, 0] + (self.plate.length_mm - body.face.length_mm) / 2
        across = places[:, 1] + (self.plate.width_mm - body.face.width_mm) / 2
        return self.plate.at_um(along, across)
