"""Find the outline of a face in a photo: four corners, and how sure they are.

The photo is searched at a small size: lines, pairs of lines that could be the long
sides, ends between them, and quads that a true rectangle of the face's sizes can look
like. The best few are set on the edges in the full picture, and the best one is kept.
A quick look does for most photos; where it is not sure, a thorough one is taken.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.outline_choice import Choice, choose_edges
from lapping.photo.outline_fit import settle_corners
from lapping.photo.outline_lines import inside, middle_of
from lapping.photo.outline_picture import Picture
from lapping.photo.outline_pose import pose_fit
from lapping.photo.outline_search import QUICK, THOROUGH, Pains, candidates
from lapping.photo.outline_signs import score

Array = NDArray[np.float64]

CANDIDATES, APART_PX, WORTH = 3, 8.0, 6.0
SURE = {"score": 0.174, "scatter": -3.62, "pose": -2.93}
SURE_FROM = -1.46
"""How sure: fitted to the share of finds within 1.5 mm on drawn photos, and true on
photos drawn by another hand, which took no part in the fit."""
REFUSED, DOUBTED, ENOUGH = 0.25, 0.8, 0.92
LEAST_PX = 160
HELP = (
    'give its corners in pixels with --corners "x,y x,y x,y x,y" (toe-left, toe-right, '
    "heel-right, heel-left), or print corner marks with `lapping print corners` and "
    "lay them at the corners"
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """Where a face lies in a photo.

    ``corners_px`` (4, 2) go round clockwise as seen, pixel centres at whole numbers;
    the first two are one end of the face, which end is not known. ``confidence`` is
    the share of such finds that are within 1.5 mm. ``whole`` says whether all of it
    is in the picture; ``doubt`` is a sentence on what to look at, or nothing.
    """

    corners_px: Array
    confidence: float
    whole: bool
    doubt: str

    def __post_init__(self) -> None:
        """Keep the corners from being changed."""
        self.corners_px.setflags(write=False)


def find_outline(picture: Picture, face: Face) -> Outline:
    """Find a face of known sizes in a picture (BGR, upright); BadInput if it cannot be.

    The sizes have to be true to a few per cent, and the lens must not bow much.
    """
    if min(picture.shape[:2]) < LEAST_PX:
        message = (
            f"this picture has only {picture.shape[1]} × {picture.shape[0]} pixels, "
            f"too few to find a face in; {LEAST_PX} either way is the least"
        )
        raise BadInput(message)
    found = _search(picture, face, QUICK)
    if found.confidence < ENOUGH:
        found = _search(picture, face, THOROUGH)
    corners, confidence = found.corners, found.confidence
    if corners is None or confidence < REFUSED:
        message = (
            f"the outline of a face {face.length_mm:g} × {face.width_mm:g} mm cannot "
            f"be told in this photo; {HELP}"
        )
        raise BadInput(message)
    shape = picture.shape[0], picture.shape[1]
    outside = ~inside(corners, shape, rim=-0.5)
    doubts = []
    if confidence < DOUBTED:
        doubts.append(
            "the outline is not sure: see whether its corners lie on those of the "
            f"face, or {HELP}"
        )
    if outside.any():
        doubts.append(_outside_words(corners, outside))
    if face.length_mm < face.width_mm:
        corners = np.roll(corners, 1, axis=0)
    return Outline(
        corners_px=corners,
        confidence=confidence,
        whole=not outside.any(),
        doubt="; ".join(doubts),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """Corners set on their edges, if any could be, and how sure they are."""

    corners: Array | None = None
    confidence: float = 0.0


def _search(picture: Picture, face: Face, pains: Pains) -> _Found:
    """Set the best few quads on the edges beside them; give the first sure one."""
    long, wide = sorted((face.length_mm, face.width_mm), reverse=True)
    quads, seen, found = candidates(picture, long / wide, pains)
    if quads is None:
        return _Found()
    value = score(found)
    best, settled = None, _Found()
    for one in _best_apart(quads.corners, value):
        quad = (quads.corners[one] + middle_of(seen.shape) + 0.5) / seen.scale - 0.5
        behind = float(value.max() - value[one])
        choice = choose_edges(
            picture, quad, behind, seen.colour, seen.scale, long, wide
        )
        if best is None or choice.score > best.score:
            best = choice
            settled = _settled(picture, long / wide, choice)
        if settled.confidence >= ENOUGH:
            break
    return settled


def _best_apart(corners: Array, value: Array) -> list[int]:
    """Give the best quads that are not the same one seen again."""
    kept: list[int] = []
    for one in np.argsort(-value).tolist():
        if value.max() - value[one] > WORTH or len(kept) == CANDIDATES:
            break
        off = np.abs(corners[kept] - corners[one]).max(axis=(1, 2), initial=0.0)
        if (off > APART_PX).all():
            kept.append(one)
    return kept


def _settled(picture: Picture, ratio: float, best: Choice) -> _Found:
    """Set a choice on its edges and say how sure it is."""
    corners, scatter_mm = settle_corners(picture, best)
    if not np.isfinite(corners).all():
        return _Found()
    shape = picture.shape[0], picture.shape[1]
    pose = pose_fit(corners[None] - middle_of(shape), ratio, max(shape))
    for_it = {
        "score": best.score,
        "scatter": scatter_mm,
        "pose": float(np.sqrt(pose.cost[0])),
    }
    odds = SURE_FROM + sum(SURE[name] * for_it[name] for name in SURE)
    return _Found(corners=corners, confidence=float(1 / (1 + np.exp(-odds))))


def _outside_words(corners: Array, outside: NDArray[np.bool_]) -> str:
    """Name the corners outside the picture by where they would be seen."""
    middle = corners.mean(axis=0)
    names = [
        ("upper " if y < middle[1] else "lower ")
        + ("left" if x < middle[0] else "right")
        for x, y in corners[outside]
    ]
    if len(names) == 1:
        return (
            f"the {names[0]} corner lies outside the picture; it is taken to be where "
            "its two edges would meet"
        )
    return (
        f"the {' and '.join(names)} corners lie outside the picture; they are taken to "
        "be where their edges would meet"
    )
