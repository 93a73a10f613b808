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
from lapping.grid import Grid, metal_grid
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
    return np.stack(list(each_dose(face, height_um, give_um, dose_um)))


def each_dose(
    face: Face, height_um: Array, give_um: Array, dose_um: Array
) -> Iterator[Array]:
    """Give the heights (faces, places) after one dose after another, as `worn_down`."""
    grid = metal_grid(face)
    shares = _shares(grid)
    terms = plane_terms(face, grid.along_mm, grid.across_mm)
    # Balance about the middle of the metal: a mouth must not tip a flat face.
    terms = terms - [0.0, *(shares @ terms[:, 1:])]
    now = np.array(height_um, dtype=np.float64)
    plane = np.zeros((len(now), 3))
    plane[:, 0] = now.max(axis=1)
    for start, stop in pairwise([0.0, *dose_um.tolist()]):
        step = stop - start
        if step > 0:
            pressed, plane = pressed_in(terms, shares, now, give_um + step, plane)
            now = now - pressed * (step / (give_um + step))[:, None]
        yield now


def pressed_in(
    terms: Array, shares: Array, height_um: Array, mean_um: Array, plane: Array
) -> tuple[Array, Array]:
    """Give how deep each place presses in (faces, places), and the paper's planes.

    The planes (faces, 3) are those for which the mean depth is ``mean_um`` (faces,)
    and its balance about the middle is even: the least of a convex function, found by
    Newton steps that are halved until they lead down. ``shares`` (places,) is how much
    of the metal each place stands for, ``plane`` where to begin.
    """
    squares = shares[:, None] * (terms[:, :, None] * terms[:, None, :]).reshape(-1, 9)
    level = shares[:, None] * terms
    ridge = RIDGE * np.eye(3)
    pressed = _pressed(terms, height_um, plane)
    energy = _energy(shares, mean_um, plane, pressed)
    for _ in range(MOST_TURNS):
        slope = -(pressed @ level)
        slope[:, 0] += mean_um
        if np.abs(slope).max(initial=0.0) <= SOLVED * mean_um.min():
            break
        bend = ((pressed > 0) @ squares).reshape(-1, 3, 3) + ridge
        move = np.asarray(-np.linalg.solve(bend, slope[:, :, None])[:, :, 0], float)
        plane, pressed, energy = _stepped(
            (terms, shares), height_um, mean_um, (plane, energy), move, slope
        )
    return pressed, plane


def _pressed(terms: Array, height_um: Array, plane: Array) -> Array:
    """Give how deep each place presses into paper that lies as ``plane`` says."""
    pressed = height_um - plane @ terms.T
    return np.maximum(pressed, 0.0, out=pressed)


def _shares(grid: Grid) -> Array:
    """Give how much of the metal each place of the grid stands for, one in all.

    A place on the outline stands for half as much as one inside, and a corner for a
    quarter.
    """
    along, across = (np.ones(n) for n in grid.metal.shape)
    for ends in (along, across):
        ends[[0, -1]] = 0.5
    laid = np.outer(along, across)[grid.metal]
    return np.asarray(laid / laid.sum())


def _stepped(
    places: tuple[Array, Array],
    height: Array,
    mean: Array,
    found: tuple[Array, Array],
    move: Array,
    slope: Array,
) -> tuple[Array, Array, Array]:
    """Take every face's step, halved until its function falls as it should.

    ``found`` are the planes with what the function is there; what is given are the new
    ones, how deep each place presses in, and the function again.
    """
    terms, shares = places
    plane, before = found
    falls = (move * slope).sum(axis=1)
    share = np.ones(len(plane))
    for _ in range(30):
        tried = plane + share[:, None] * move
        pressed = _pressed(terms, height, tried)
        after = _energy(shares, mean, tried, pressed)
        high = after > before + 1e-4 * share * falls + 1e-12 * np.abs(before)
        if not high.any():
            return tried, pressed, after
        share[high] /= 2
    tried = plane + share[:, None] * move
    pressed = _pressed(terms, height, tried)
    return tried, pressed, _energy(shares, mean, tried, pressed)


def _energy(shares: Array, mean: Array, plane: Array, pressed: Array) -> Array:
    return np.asarray(pressed**2 @ shares / 2 + mean * plane[:, 0])
