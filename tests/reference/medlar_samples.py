"""One invented plane as it is lapped: three readings of its sole, for the tutorial.

Metal comes off where the sole stands proud of a flat lap, which gives a little: the
lap takes the sole down to a plane, with a soft border.
"""

from __future__ import annotations

import math
import random

from tests.reference.invented import (
    Dial,
    Truth,
    document,
    formed,
    lattice,
    plain,
)

ALONG, ACROSS = (8, 40, 74, 90, 137, 184, 232), (5, 29, 53)
GIVE_UM = 6.0


def worn(face: Truth, down_to_um: float) -> Truth:
    """Give the face after a flat lap took it down to a height."""

    def height(along: float, across: float) -> float:
        over = (face.height_um(along, across) - down_to_um) / GIVE_UM
        return down_to_um + GIVE_UM * (over - math.log1p(math.exp(over)))

    return Truth(length_mm=face.length_mm, width_mm=face.width_mm, height_um=height)


FOUND = formed(240, 58, -110, 70, 2)
AFTER_300 = worn(FOUND, 62)
AFTER_450 = worn(AFTER_300, 24)


def as_found() -> str:
    """Give the first reading: hollow along and twisted."""
    return _block(FOUND, 41, "Medlar, a smoother, as it was found")


def after_300() -> str:
    """Give the reading half-way."""
    return _block(AFTER_300, 42, "Medlar after 300 strokes on P120")


def after_450() -> str:
    """Give the last reading."""
    return _block(AFTER_450, 43, "Medlar after 150 strokes more")


def _block(face: Truth, seed: int, what: str) -> str:
    places = lattice(ALONG, ACROSS)
    dial = Dial(step_um=2, noise_um=2, tilt_um=(24, -10))
    readings = dial.read(face, places, random.Random(seed))
    known = dict(zip(places, readings, strict=True))
    table = ["across\\along," + ",".join(map(plain, ALONG))]
    for across in reversed(ACROSS):
        cells = [str(2 * known[along, across]) for along in ALONG]
        table.append(",".join([plain(across), *cells]))
    return document(
        (f"{what}; the wash-house workshop", "typed in from the printed sheet"),
        (
            "method: dial",
            "face: sole",
            "length: 240 mm",
            "width: 58 mm",
            "mouth: 79 mm to 85 mm, across 5 mm to 53 mm",
            "unit: um",
            "sense: high-positive",
            "repeatability: 2 um",
            "reference_flatness: 5 um",
            "target: 50 um",
        ),
        table,
    )


SAMPLES = {
    "medlar_1_as_found.csv": as_found,
    "medlar_2_after_300.csv": after_300,
    "medlar_3_after_450.csv": after_450,
}
TRUTHS = {
    "medlar_1_as_found.csv": FOUND,
    "medlar_2_after_300.csv": AFTER_300,
    "medlar_3_after_450.csv": AFTER_450,
}
