"""How a face comes down as metal comes off it: wear as a function of the dose.

The dose is the metal taken off the whole face, as a mean depth in µm. It stands for
load, path, paper and metal all at once, so that shape can be told without them: a
rigid face on paper that gives like an elastic foundation wears in proportion to how
deep it presses in (Preston, J. Soc. Glass Technol. 11, 1927; Winkler foundation). With
``give_um``, the mean depth it presses in, the steps solved here are

    mean(pressed) = give + step,   worn = pressed · step / (give + step)

which is the implicit rule of Euler: it takes off ``step`` on average whatever the
step, and with no give it cuts the face by a plane.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import metal_grid
from lapping.observations import plane_terms

Array = NDArray[np.float64]

SOLVED = 1e-4
"""The pressed depth meets load and balance to this share of its mean."""
MOST_TURNS = 60
RIDGE = 1e-9


def worn_down(face: Face, height_um: Array, give_um: Array, dose_um: Array) -> Array:
    """Give heights (doses, faces, places) after each dose, on the metal grid's places.

    ``height_um`` (faces, places) are the heights before, ``give_um`` (faces,) how far
    each presses into its paper, ``dose_um`` (doses,) rises and is not negative. Hands
    are taken to press in the middle of the metal.
    """
    return np.stack(list(_each_dose(face, height_um, give_um, dose_um)))


def _each_dose(face: Face, height: Array, give: Array, dose: Array) -> Iterator[Array]:
    grid = metal_grid(face)
    terms = plane_terms(face, grid.along_mm, grid.across_mm)
    # Balance about the middle of the metal: a mouth must not tip a flat face.
    terms = terms - [0.0, *terms[:, 1:].mean(axis=0)]
    now = np.array(height, dtype=np.float64)
    plane = np.zeros((len(now), 3))
    plane[:, 0] = now.max(axis=1)
    for start, stop in pairwise([0.0, *dose.tolist()]):
        step = stop - start
        if step > 0:
            pressed, plane = pressed_in(terms, now, give + step, plane)
            now = now - pressed * (step / (give + step))[:, None]
        yield now


def pressed_in(
    terms: Array, height_um: Array, mean_um: Array, plane: Array
) -> tuple[Array, Array]:
    """Give how deep each place presses in (faces, places), and the paper's planes.

    The planes (faces, 3) are those for which the mean depth is ``mean_um`` (faces,)
    and its balance about the middle is even: the least of a convex function, found by
    Newton steps that are halved until they lead down. ``plane`` is where to begin.
    """
    squares = (terms[:, :, None] * terms[:, None, :]).reshape(len(terms), 9)
    count = len(terms)
    ridge = RIDGE * np.eye(3)
    for _ in range(MOST_TURNS):
        pressed = np.maximum(height_um - plane @ terms.T, 0.0)
        slope = -pressed @ terms / count
        slope[:, 0] += mean_um
        if np.abs(slope).max(initial=0.0) <= SOLVED * mean_um.min():
            break
        bend = ((pressed > 0) @ squares / count).reshape(-1, 3, 3) + ridge
        move = np.asarray(-np.linalg.solve(bend, slope[:, :, None])[:, :, 0], float)
        plane = _stepped(terms, height_um, mean_um, plane, move, slope)
    pressed = np.maximum(height_um - plane @ terms.T, 0.0)
    return pressed, plane


def _stepped(
    terms: Array,
    height: Array,
    mean: Array,
    plane: Array,
    move: Array,
    slope: Array,
) -> Array:
    """Take every face's step, halved until its function falls as it should."""
    before = _energy(terms, height, mean, plane)
    falls = (move * slope).sum(axis=1)
    share = np.ones(len(plane))
    for _ in range(30):
        after = _energy(terms, height, mean, plane + share[:, None] * move)
        high = after > before + 1e-4 * share * falls + 1e-12 * np.abs(before)
        if not high.any():
            break
        share[high] /= 2
    return np.asarray(plane + share[:, None] * move)


def _energy(terms: Array, height: Array, mean: Array, plane: Array) -> Array:
    pressed = np.maximum(height - plane @ terms.T, 0.0)
    return np.asarray((pressed**2).mean(axis=1) / 2 + mean * plane[:, 0])
