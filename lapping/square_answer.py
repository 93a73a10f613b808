"""The answer for a side of which only squareness was read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lapping.answer import BS_3623_UM
from lapping.errors import TooFewReadings
from lapping.face import Face
from lapping.one_face import one_face, shown_in, to_mind
from lapping.readings import ReadingSet
from lapping.squareness import Squareness, squareness
from lapping.units import HeightUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class SquareAnswer:
    """Squareness, and that is all: nothing here says how flat the side is."""

    sets: tuple[ReadingSet, ...]
    face: Face
    squareness: Squareness
    target_um: float
    shown_in: HeightUnit
    warnings: tuple[str, ...]


def answer_squares(
    sets: Sequence[ReadingSet],
    *,
    target_um: float | None = None,
    unit: HeightUnit | None = None,
) -> SquareAnswer:
    """Answer for sets of square readings of one side; BadInput when sides differ."""
    face = one_face(sets)
    found = squareness(sets)
    if found is None:
        message = "there are no square readings"
        raise TooFewReadings(message)
    own = [s.target_um for s in sets if s.target_um is not None]
    return SquareAnswer(
        sets=tuple(sets),
        face=face,
        squareness=found,
        target_um=target_um or min(own, default=BS_3623_UM),
        shown_in=unit or shown_in(sets),
        warnings=to_mind(sets, stated=False),
    )
