"""Fit one flat face to the marks of three or four cards, each as it was taped.

A card may be turned a little where it lies, so each has a place and a turn of its own
in the plane of the face; what they share is the plane, and that all marks are of one
size. So the sizes of the face come out as well, in units of the mark.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.cards import mark_corners_mm

Array = NDArray[np.float64]
Residuals = Callable[[Array], Array]

ROUNDS = 20
STEP = 1e-6
SETTLED = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CardFit:
    """Cards in the plane of the face and the way from that plane into the picture.

    ``corners_mm`` (n, 2) are the corners of the face that the cards say, along and
    across from the first one; ``turns_deg`` how far each card is turned from the edges
    of the first; ``to_picture`` (3, 3) takes along, across to pixels.
    """

    corners: tuple[int, ...]
    corners_mm: Array
    turns_deg: Array
    to_picture: Array
    residual_px: float


def through(matrix: Array, places: Array) -> Array:
    """Take places (n, 2) through a homography (3, 3)."""
    one = places @ matrix[:, :2].T + matrix[:, 2]
    result: Array = one[:, :2] / one[:, 2:]
    return result


def fit_cards(
    marks_px: Mapping[int, Array], length_mm: float, width_mm: float
) -> CardFit:
    """Fit the plane of the face and the cards in it to the marks' corners.

    ``marks_px`` has the four corners (4, 2) of each corner's mark. The sizes of the
    face are where the search begins and no more.
    """
    corners = tuple(sorted(marks_px))
    ideal = np.array(
        [[0.0, 0.0], [0.0, width_mm], [length_mm, width_mm], [length_mm, 0.0]]
    )
    starts = [ideal[corner] for corner in corners]
    seen = np.concatenate([marks_px[corner] for corner in corners])
    expected = np.concatenate([mark_corners_mm(c) + ideal[c] for c in corners])
    first, _ = cv2.findHomography(expected, seen)
    # Scaled, so that all unknowns are of the order of one.
    span = max(length_mm, width_mm)
    scale = np.diag([span, span, 1.0])
    begin = np.asarray(first, dtype=np.float64) @ scale
    begin /= begin[2, 2]
    size_px = float(np.abs(seen).max())
    unknowns = np.concatenate(
        [
            (begin / np.array([[size_px], [size_px], [1.0]])).ravel()[:8],
            *[np.array([*(s / span), 0.0]) for s in starts[1:]],
        ]
    )
    shapes = [mark_corners_mm(corner) / span for corner in corners]

    def place(values: Array) -> tuple[Array, Array, Array]:
        plane = np.append(values[:8], 1.0).reshape(3, 3)
        plane = plane * np.array([[size_px], [size_px], [1.0]])
        cards = np.vstack([[*(starts[0] / span), 0.0], values[8:].reshape(-1, 3)])
        marks = []
        for shape, (along, across, turn) in zip(shapes, cards, strict=True):
            c, s = np.cos(turn), np.sin(turn)
            marks.append(shape @ np.array([[c, s], [-s, c]]) + [along, across])
        return plane, cards, through(plane, np.concatenate(marks))

    values = _least_squares(lambda v: (place(v)[2] - seen).ravel(), unknowns)
    plane, cards, there = place(values)
    off = there - seen
    free = max(off.size - values.size, 1)
    return CardFit(
        corners=corners,
        corners_mm=(cards[:, :2] - cards[0, :2]) * span,
        turns_deg=np.degrees(cards[:, 2]),
        to_picture=plane @ np.linalg.inv(scale) @ _moved(starts[0]),
        residual_px=float(np.sqrt((off**2).sum() / free)),
    )


def _moved(start: Array) -> Array:
    moved = np.eye(3)
    moved[:2, 2] = start
    return moved


def _least_squares(residuals: Residuals, begin: Array) -> Array:
    """Solve by damped Gauss-Newton steps with differences for derivatives."""
    values, damping = begin, 1e-3
    off = residuals(values)
    for _ in range(ROUNDS):
        slopes = np.stack(
            [(residuals(values + STEP * e) - off) / STEP for e in np.eye(values.size)],
            axis=1,
        )
        normal = slopes.T @ slopes
        while damping < 1e6:
            damped = normal + damping * np.diag(np.diag(normal))
            step = np.linalg.solve(damped, -slopes.T @ off)
            tried = residuals(values + step)
            if tried @ tried <= off @ off:
                break
            damping *= 10
        else:
            return values
        settled = np.abs(step).max() < SETTLED
        values, off, damping = values + step, tried, damping / 10
        if settled:
            break
    return values
