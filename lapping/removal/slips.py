"""Readings that no stroke explains, and what a second reading of a place settles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import cast

import numpy as np

from lapping.errors import LappingError
from lapping.readings import Readings, ReadingSet
from lapping.removal.changes import SAME_MM
from lapping.removal.glance import Glance, glance
from lapping.removal.learnt import Removal

Places = tuple[tuple[float, float], ...]


def slipped(known: Removal) -> Places:
    """Give the places whose readings changed in the last stage as no stroke does."""
    stage = known.stages[-1] if known.stages else None
    if stage is None or stage.seen is None:
        return ()
    return tuple((along, across) for along, across, _ in stage.seen.slips)


def read_again(one: Glance, places: Places) -> Glance | None:
    """Give a look with only the newest reading of some places; None if read once.

    Where a place was in doubt and was read again, the newest reading is the answer.
    """
    *older, newest = one.look.sets
    if not older or not places or not all(_has(newest, place) for place in places):
        return None
    sets = (*(without(each, places) for each in older), newest)
    try:
        return glance(replace(one.look, sets=tuple(s for s in sets if s.readings)))
    except LappingError:
        return None


def without(readings: ReadingSet, places: Sequence[tuple[float, float]]) -> ReadingSet:
    """Give a set without the readings of some places (along, across in mm)."""
    kept = [one for one in readings.readings if not _is_at(one, places)]
    return replace(readings, readings=cast("Readings", tuple(kept)))


def _has(readings: ReadingSet, place: tuple[float, float]) -> bool:
    return any(_is_at(one, (place,)) for one in readings.readings)


def _is_at(one: object, places: Sequence[tuple[float, float]]) -> bool:
    """Say whether a reading was taken at one of some places; pairs are not."""
    here = (getattr(one, "along_mm", np.inf), getattr(one, "across_mm", np.inf))
    return any(
        np.hypot(here[0] - along, here[1] - across) <= SAME_MM
        for along, across in places
    )
