"""What can be wrong with how corner cards lie, or with the sizes given for the face."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.card_fit import CardFit
from lapping.photo.cards import CORNERS, SIGNS

Array = NDArray[np.float64]

SIZE_DOUBT = 0.02
"""The sizes given may differ by this share from what the marks say."""
SWAPPED = 0.1
SLIPPED_MM, WRONG_MM = 1.0, 5.0
UNEVEN_MM = 0.5
TURNED_DEG = 5.0
WRONG_WAY_DEG = 50.0
"""A card seen aslant looks turned by up to 30 degrees; one set wrongly by 90."""


def check_places(marks: Mapping[int, Array]) -> None:
    """Refuse cards that do not lie from each other as their words say."""
    for one, other in combinations(sorted(marks), 2):
        same_side = SIGNS[one][1] == SIGNS[other][1]
        if not same_side and SIGNS[one][0] != SIGNS[other][0]:
            continue
        way = marks[other].mean(axis=0) - marks[one].mean(axis=0)
        # Down the mark's own side is towards the heel, along its top to the right.
        begins, ends = ([0, 1], [2, 3]) if same_side else ([0, 3], [1, 2])
        if SIGNS[one][0 if same_side else 1] > 0:
            way = -way
        for mark in (marks[one], marks[other]):
            own = mark[ends].mean(axis=0) - mark[begins].mean(axis=0)
            if _degrees(own, way) > WRONG_WAY_DEG:
                message = (
                    f"the corner cards {CORNERS[one]} and {CORNERS[other]} do not lie "
                    "at their corners; with the face up and the toe away from you "
                    "each card belongs at the corner that it names, its words upright"
                )
                raise BadInput(message)


def _degrees(one: Array, other: Array) -> float:
    cosine = one @ other / (np.linalg.norm(one) * np.linalg.norm(other))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def card_sizes(corners_mm: Array) -> tuple[float, float]:
    """Give length and width between four corners, each the mean of both sides."""
    side = np.linalg.norm(corners_mm - np.roll(corners_mm, -1, axis=0), axis=1)
    return float(side[1] + side[3]) / 2, float(side[0] + side[2]) / 2


def check_swapped(face: Face, length_mm: float, width_mm: float) -> None:
    given, turned = face.length_mm / face.width_mm, face.width_mm / face.length_mm
    ratio = length_mm / width_mm
    if abs(ratio / turned - 1) < SWAPPED < abs(ratio / given - 1):
        message = (
            f"by the corner cards the face is {length_mm:.0f} mm from toe to heel and "
            f"{width_mm:.0f} mm wide, but the length given is {face.length_mm:g} mm "
            f"and the width {face.width_mm:g} mm: give them the other way round, or "
            "move the cards"
        )
        raise BadInput(message)


def off_rectangle(fit: CardFit, corners_mm: Array) -> tuple[float, Array]:
    """Say how far the corners lie off a rectangle, and how far each card is turned."""
    length_mm, width_mm = card_sizes(corners_mm)
    true = np.array([[0, 0], [0, width_mm], [length_mm, width_mm], [length_mm, 0]])
    centred, true = corners_mm - corners_mm.mean(axis=0), true - true.mean(axis=0)
    u, _, v = np.linalg.svd(true.T @ centred)
    turn = u @ v
    off = np.linalg.norm(true @ turn - centred, axis=1)
    turned = np.degrees(np.arctan2(turn[0, 1], turn[0, 0]))
    return float(off.max()), fit.turns_deg - turned


def lie_words(
    fit: CardFit, off_mm: float, turns_deg: Array, residual_mm: float
) -> list[str]:
    """Say what is wrong with how the cards lie."""
    said = []
    if residual_mm > UNEVEN_MM:
        said.append(
            f"the corner marks lie {residual_mm:.1f} mm off one plane: a card is bent, "
            "tilted or not level with the face"
        )
    if off_mm > SLIPPED_MM:
        said.append(
            f"the cards' corners lie {off_mm:.1f} mm off a true rectangle: one has "
            "slipped from its corner, or the face is not square"
        )
    for corner, turned in zip(fit.corners, turns_deg, strict=True):
        if abs(turned) > TURNED_DEG:
            said.append(
                f"the {CORNERS[corner]} card is turned by {abs(turned):.0f} degrees: "
                "lay its bracket along both edges of the face"
            )
    return said


def size_words(face: Face, length_mm: float, width_mm: float) -> list[str]:
    """Warn where the sizes given are not those that the marks say."""
    by_length, by_width = length_mm / face.length_mm, width_mm / face.width_mm
    if max(abs(by_length - 1), abs(by_width - 1)) <= SIZE_DOUBT:
        return []
    said = (
        f"by the corner marks the face is {length_mm:.0f} × {width_mm:.1f} mm, and "
        f"{face.length_mm:g} × {face.width_mm:g} mm was given"
    )
    if abs(by_length / by_width - 1) <= SIZE_DOUBT:
        size = 100 / by_length
        return [
            f"{said}: the sheet seems printed at {size:.0f} % of its size (measure its "
            "bar), or both sizes are wrong"
        ]
    return [f"{said}: measure the face again, and the bar on the printed sheet"]
