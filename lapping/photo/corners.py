"""Corners of a face as a person gives them: read, and refused where they cannot be."""

from __future__ import annotations

import math
import re

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.rectify import homography
from lapping.photo.turned import Points
from lapping.places import corner_names

LEAST_SHARE = 0.01
"""Corners nearer to each other than this share of the photo's longer side are one."""
FLAT = 0.02
"""A corner is on the line of two others if it stands off by less than this share."""
FOCAL = np.geomspace(0.5, 3.0, 12)
"""Focal lengths of phones, as shares of the picture's longer side."""
FITS, MISFITS = 0.15, 0.3
"""How far (in ln) the ratio of the sides may be off, and must be off to be refused."""
_PAIR = re.compile(r"([+-]?\d+(?:\.\d+)?)\s*,\s*([+-]?\d+(?:\.\d+)?)")
_HOW = '--corners "x,y x,y x,y x,y"'


def parse_corners(text: str) -> Points:
    """Read ``"x,y x,y x,y x,y"`` in pixels; BadInput if it is anything else.

    They are toe-left, toe-right, heel-right and heel-left, x to the right and y down
    from the top left of the upright photo at its full size.
    """
    pairs = _PAIR.findall(text)
    rest = _PAIR.sub("", text).strip(" ;\t")
    if rest.replace(";", "").strip() or not pairs:
        message = (
            f"the corners '{text[:60]}' cannot be read; write them in pixels as {_HOW}"
        )
        raise BadInput(message)
    if len(pairs) != 4:
        many = "1 corner was" if len(pairs) == 1 else f"{len(pairs)} corners were"
        message = (
            f"{many} given and four are needed: toe-left, toe-right, heel-right, "
            f"heel-left, as {_HOW}"
        )
        raise BadInput(message)
    return np.array(pairs, np.float64)


def check_corners(
    corners_px: Points, face: Face, *, width_px: int, height_px: int
) -> None:
    """Refuse corners that no photo of the face can have; BadInput says why.

    ``width_px`` and ``height_px`` are those of the picture the corners are given in.
    """
    corners = np.asarray(corners_px, np.float64)
    names = corner_names(face)
    sizes = (width_px, height_px)
    for name, (x, y) in zip(names, corners, strict=True):
        outside = max(-x, x - width_px) > width_px / 2
        outside |= max(-y, y - height_px) > height_px / 2
        if outside or not (math.isfinite(x) and math.isfinite(y)):
            message = (
                f"the {name} corner ({x:g}, {y:g}) lies far outside the photo of "
                f"{width_px} × {height_px} pixels; give it in pixels of this photo, "
                "upright and at full size"
            )
            raise BadInput(message)
    for first in range(4):
        for second in range(first + 1, 4):
            gap = float(np.hypot(*(corners[first] - corners[second])))
            if gap < LEAST_SHARE * max(sizes):
                message = (
                    f"the corners {names[first]} and {names[second]} are at the same "
                    "place; give four different ones"
                )
                raise BadInput(message)
    _refuse_order(corners, names)
    _refuse_swapped(corners, face, max(sizes), (width_px / 2, height_px / 2))


def _refuse_order(corners: Points, names: tuple[str, ...]) -> None:
    """Refuse corners that are crossed, mirrored or hardly corners."""
    turns = []
    for at in range(4):
        one = corners[at] - corners[at - 1]
        two = corners[(at + 1) % 4] - corners[at]
        cross = float(one[0] * two[1] - one[1] * two[0])
        turns.append(cross / float(np.hypot(*one) * np.hypot(*two)))
    for turn, name in zip(turns, names, strict=True):
        if abs(turn) < FLAT:
            message = (
                f"the {name} corner lies on a line with those beside it; a face has "
                "four corners"
            )
            raise BadInput(message)
    right = sum(turn > 0 for turn in turns)
    order = ", ".join(names)
    if right == 0:
        message = (
            "the corners go round the wrong way, as in a mirror; give them as "
            f"{order}, as seen with the toe pointing away from you"
        )
        raise BadInput(message)
    if right == 2:
        message = f"the corners are crossed; give them going round: {order}"
        raise BadInput(message)
    if right != 4:
        odd = names[next(i for i, t in enumerate(turns) if (t > 0) == (right == 1))]
        message = f"the {odd} corner lies inside the other three; look at it again"
        raise BadInput(message)


def _refuse_swapped(
    corners: Points, face: Face, longer: float, middle: tuple[float, float]
) -> None:
    """Refuse a face whose corners fit only with length and width swapped."""
    wanted = math.log(face.length_mm / face.width_mm)
    ratios = _side_ratios(corners, longer, np.array(middle))
    off = min(abs(ratio - wanted) for ratio in ratios)
    turned = min(abs(ratio + wanted) for ratio in ratios)
    if off > MISFITS and turned < FITS:
        message = (
            f"the corners fit a face {face.width_mm:g} mm long and {face.length_mm:g} "
            "mm wide, not the other way round; are length and width swapped, or do "
            f"the corners begin at another one than {corner_names(face)[0]}?"
        )
        raise BadInput(message)


def _side_ratios(
    corners: Points, longer: float, middle: NDArray[np.float64]
) -> list[float]:
    """Give ln(length / width) of the rectangle seen, for each focal length.

    Square pixels and a centred axis: the two columns of the homography, taken back
    through the lens, are the face's two edges as they lie in space.
    """
    square = Face(length_mm=1.0, width_mm=1.0)
    matrix = homography(corners - middle, square)
    lengths = [
        np.linalg.norm(matrix[:, :2] / np.array([[f], [f], [1.0]]), axis=0)
        for f in FOCAL * longer
    ]
    return [math.log(along / across) for along, across in lengths]
