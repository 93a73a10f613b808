"""Find a face by the cards at its corners: corners, true sizes, and how well they fit.

The cards (`photo.cards`, printed by `printed.corner_sheet`) name their corners, so they
also tell the toe from the heel.
"""

from __future__ import annotations

from dataclasses import dataclass
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.face import Face, Zone
from lapping.photo.card_doubts import (
    WRONG_MM,
    card_sizes,
    check_places,
    check_swapped,
    lie_words,
    off_rectangle,
    size_words,
)
from lapping.photo.card_fit import CardFit, fit_cards, through
from lapping.photo.cards import ARM_MM, CORNERS, LIP_MM, MARK_MM, SIGNS
from lapping.photo.mark_edges import seen_marks

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

LEAST_CARDS = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Marks:
    """A face found by its corner cards.

    ``corners_px`` (4, 2) go toe-left, toe-right, heel-right, heel-left, pixel centres
    at whole numbers. ``found`` says which cards were seen. ``residual_mm`` is how far
    the marks lie from one plane, as seen in the picture. ``length_mm`` and ``width_mm``
    are measured against the marks, which are MARK_MM wide when printed true to size.
    ``covered`` are the parts of the face under the cards.
    """

    corners_px: Array
    found: tuple[str, ...]
    residual_mm: float
    length_mm: float
    width_mm: float
    covered: tuple[Zone, ...]
    warnings: tuple[str, ...]

    def __post_init__(self) -> None:
        """Keep the corners from being changed."""
        self.corners_px.setflags(write=False)


def find_marks(picture: Picture, face: Face) -> Marks | None:
    """Find the face by the cards at its corners; None if the picture has no card.

    Three cards are enough: the fourth corner closes the rectangle in their plane.
    BadInput where there are fewer, or where they lie at the wrong corners.
    """
    seen = sorted(seen_marks(picture, face.length_mm), key=itemgetter(0))
    if not seen:
        return None
    marks = dict(seen)
    _check(seen, marks)
    fit = fit_cards(marks, face.length_mm, face.width_mm)
    corners_mm, missing = _all_corners(fit)
    length_mm, width_mm = card_sizes(corners_mm)
    off_mm, turns_deg = off_rectangle(fit, corners_mm)
    if off_mm > WRONG_MM:
        message = (
            f"the corner cards lie {off_mm:.0f} mm off a true rectangle: one lies at "
            "the wrong corner or has slipped from it"
        )
        raise BadInput(message)
    check_swapped(face, length_mm, width_mm)
    side_px = np.mean(
        [
            np.linalg.norm(m - np.roll(m, 1, axis=0), axis=1).mean()
            for m in marks.values()
        ]
    )
    residual_mm = fit.residual_px / float(side_px) * MARK_MM
    warnings = [
        *_missing_words(missing),
        *lie_words(fit, off_mm, turns_deg, residual_mm),
        *size_words(face, length_mm, width_mm),
    ]
    return Marks(
        corners_px=through(fit.to_picture, corners_mm),
        found=tuple(CORNERS[corner] for corner in fit.corners),
        residual_mm=residual_mm,
        length_mm=length_mm,
        width_mm=width_mm,
        covered=tuple(z for corner in fit.corners for z in _under_card(face, corner)),
        warnings=tuple(warnings),
    )


def _check(seen: list[tuple[int, Array]], marks: dict[int, Array]) -> None:
    """Refuse too few cards, the same one twice, or cards that are mixed up."""
    names = [CORNERS[corner] for corner, _ in seen]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        message = (
            f"the corner card {twice[0]} is in the picture {names.count(twice[0])} "
            "times; leave only the four cards that lie at the corners"
        )
        raise BadInput(message)
    if len(marks) < LEAST_CARDS:
        message = (
            f"of the four corner cards only {' and '.join(names)} can be read; three "
            "are needed. See that they lie flat, whole in the picture, sharp and out "
            'of glare, or give the corners: --corners "x,y x,y x,y x,y" (toe-left, '
            "toe-right, heel-right, heel-left)"
        )
        raise BadInput(message)
    check_places(marks)


def _all_corners(fit: CardFit) -> tuple[Array, str | None]:
    """Give all four corners in the plane, and which one had no card."""
    at = dict(zip(fit.corners, fit.corners_mm, strict=True))
    missing = next((c for c in range(4) if c not in at), None)
    if missing is None:
        return fit.corners_mm, None
    before, behind = at[(missing - 1) % 4], at[(missing + 1) % 4]
    at[missing] = before + behind - at[(missing + 2) % 4]
    return np.array([at[c] for c in range(4)]), CORNERS[missing]


def _missing_words(missing: str | None) -> list[str]:
    if missing is None:
        return []
    return [
        f"the {missing} card cannot be read; its corner is worked out from the other "
        "three, as of a true rectangle"
    ]


def _under_card(face: Face, corner: int) -> tuple[Zone, Zone]:
    """Give the two strips of the face under a card's lip."""
    along, across = SIGNS[corner]

    def strip(deep_mm: float, wide_mm: float) -> Zone:
        a, c = (0.0, deep_mm), (0.0, wide_mm)
        if along > 0:
            a = (face.length_mm - deep_mm, face.length_mm)
        if across > 0:
            c = (face.width_mm - wide_mm, face.width_mm)
        return Zone(
            name=f"{CORNERS[corner]} card",
            along_from_mm=a[0],
            along_to_mm=a[1],
            across_from_mm=c[0],
            across_to_mm=c[1],
        )

    return strip(LIP_MM, ARM_MM), strip(ARM_MM, LIP_MM)
