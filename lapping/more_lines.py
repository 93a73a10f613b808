"""What to read next: the one line that would show what the readings cannot see."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.observations import Observations, form_terms, plane_terms
from lapping.places import corner_names, edge_names, end_names
from lapping.surface.form import seen_columns, shapes_not_in

Array = NDArray[np.float64]

STATIONS = 5


def line_to_read(face: Face, obs: Observations) -> str | None:
    """Say which one line or pair of sticks shows the most of what is unseen.

    None when all is seen.
    """
    now = seen_columns(face, obs)
    left = len(shapes_not_in(now))
    best: str | None = None
    for words, rows in _candidates(face):
        padded = np.zeros((len(rows), now.shape[1] + 2))
        padded[:, :6], padded[:, -2:] = rows[:, :6], rows[:, 6:]
        tried = np.concatenate([np.pad(now, ((0, 0), (0, 2))), padded])
        unseen = len(shapes_not_in(tried))
        if unseen < left:
            left, best = unseen, words
    return best


def _candidates(face: Face) -> list[tuple[str, Array]]:
    """Give lines with their rows of form, plane, and own height and tilt: (5, 8)."""
    length, width = face.length_mm, face.width_mm
    one, two, three, four = corner_names(face)
    toe, heel = end_names(face)
    left, right = edge_names(face)
    lines = [
        ("a line across the middle", (length / 2, 0), (length / 2, width)),
        ("a line along the centre", (0, width / 2), (length, width / 2)),
        (f"the diagonal from {one} to {three}", (0, 0), (length, width)),
        (f"the diagonal from {two} to {four}", (0, width), (length, 0)),
        (f"a line along the {left}", (0, 0), (length, 0)),
        (f"a line along the {right}", (0, width), (length, width)),
    ]
    t = np.linspace(-1, 1, STATIONS)
    found = []
    for words, start, stop in lines:
        along = (start[0] + stop[0]) / 2 + t * (stop[0] - start[0]) / 2
        across = (start[1] + stop[1]) / 2 + t * (stop[1] - start[1]) / 2
        found.append((words, _rows(face, along, across, t)))
    corner_along = np.array([0, 0, length, length])
    corner_across = np.array([0, width, width, 0])
    corners = _rows(face, corner_along, corner_across, np.zeros(4))
    wind = np.array([[1.0, -1.0, 1.0, -1.0]]) @ corners
    wind[:, 6:] = 0.0
    return [*found, (f"winding sticks at {toe} and {heel}", wind)]


def _rows(face: Face, along: Array, across: Array, t: Array) -> Array:
    return np.column_stack(
        [
            form_terms(face, along, across),
            plane_terms(face, along, across),
            np.ones_like(t),
            t,
        ]
    )
