"""The invented faces behind the samples: known shapes, and a file put together.

The workshop, its planes and all numbers are invented.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

MARK = "# invented data for the demo"

Shape = Callable[[float, float], float]
Place = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Truth:
    """The face behind a sample: its size and its true heights in µm."""

    length_mm: float
    width_mm: float
    height_um: Shape

    def scaled(self, along: float, across: float) -> Place:
        """Scale a place to -1..+1."""
        return 2 * along / self.length_mm - 1, 2 * across / self.width_mm - 1


@dataclass(frozen=True, kw_only=True)
class Dial:
    """An indicator: its step, the noise of one reading, and how the face lies."""

    step_um: float
    noise_um: float
    tilt_um: tuple[float, float] = (0.0, 0.0)
    sense: int = 1

    def read(
        self, face: Truth, places: Sequence[Place], chance: random.Random
    ) -> list[int]:
        """Give the readings in whole steps, the gauge set to zero at the first."""
        start = self._value(face, *places[0])
        return [
            round(
                (self._value(face, *place) - start + self.noise_um * normal(chance))
                / self.step_um
            )
            for place in places
        ]

    def _value(self, face: Truth, along: float, across: float) -> float:
        a, c = face.scaled(along, across)
        tilted = face.height_um(along, across) + self.tilt_um[0] * a
        return self.sense * (tilted + self.tilt_um[1] * c)


def normal(chance: random.Random) -> float:
    """Give a nearly normal number from `random()` alone, which never changes."""
    return sum(chance.random() for _ in range(12)) - 6


def bump(along: float, across: float, at: Place, radius: Place, height: float) -> float:
    """Give a rounded bump (or dip) of a height at a place."""
    d2 = ((along - at[0]) / radius[0]) ** 2 + ((across - at[1]) / radius[1]) ** 2
    return height * math.exp(-d2 / 2)


def ripple(along: float, across: float, height: float) -> float:
    """Give the small waves that every rubbed face keeps."""
    return height * math.sin(along / 11 + 1) * math.cos(across / 9)


def formed(
    length: float, width: float, along_bow: float, twist: float, waves: float
) -> Truth:
    """Give a face with a bow along (crown positive), a twist and small waves, in µm."""

    def height(along: float, across: float) -> float:
        a, c = 2 * along / length - 1, 2 * across / width - 1
        return -along_bow * a * a + twist / 4 * a * c + ripple(along, across, waves)

    return Truth(length_mm=length, width_mm=width, height_um=height)


def dented(face: Truth, at: Place, radius: Place, depth: float) -> Truth:
    """Give the same face with a rounded dip."""

    def height(along: float, across: float) -> float:
        return face.height_um(along, across) + bump(along, across, at, radius, -depth)

    return Truth(length_mm=face.length_mm, width_mm=face.width_mm, height_um=height)


def plain(value: float, digits: int = 0) -> str:
    """Write a number without trailing zeros."""
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in {"-0", ""} else text


def lattice(along: Sequence[float], across: Sequence[float]) -> list[Place]:
    """Give the places row by row, and the first one again to show drift."""
    places = [(a, c) for a in along for c in across]
    return [*places, places[0]]


def rows(places: Sequence[Place], values: Sequence[str]) -> list[str]:
    """Give a row for each reading."""
    return ["along,across,reading"] + [
        f"{plain(a, 1)},{plain(c, 1)},{value}"
        for (a, c), value in zip(places, values, strict=True)
    ]


def document(remarks: Sequence[str], header: Sequence[str], table: list[str]) -> str:
    """Put a file together."""
    lines = [MARK, *(f"# {r}" for r in remarks), *(f"# {h}" for h in header), *table]
    return "\n".join(lines) + "\n"
