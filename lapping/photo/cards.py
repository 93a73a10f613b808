"""The four corner cards: which mark each one has, and where it lies from the corner.

A card lies in the plane of the face, outside it, and carries one mark. Two bracket
lines on it meet where the corner of the face belongs. Places on a card are millimetres
from that corner in the frame of the face: along towards the heel, across to the right.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CORNERS = ("toe-left", "toe-right", "heel-right", "heel-left")
MARK_IDS = (101, 112, 128, 132)
"""Marks that differ from each other in 16 of 36 squares or more, however turned."""
MARK_MM = 28.0
QUIET_MM = 5.0
"""White round the mark: more than the one square of 3.5 mm that a reader needs."""
ARM_MM = 12.0
"""How far a card reaches along either edge of the face; two on one end of 40 mm are
16 mm apart."""
LIP_MM = 3.0
"""How far the paper, without its stiff backing, lies over the face."""
OUTER_MM = QUIET_MM + MARK_MM + QUIET_MM
SIGNS = ((-1.0, -1.0), (-1.0, 1.0), (1.0, 1.0), (1.0, -1.0))
"""Which way from each corner its card lies: along and across."""
SQUARES = 8
"""Squares along a mark's side, the black border included."""


def dictionary() -> Any:
    """Give the set of marks: 36 squares, any two differ in 12 or more."""
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_ARUCO_MIP_36h12)


def mark_squares(corner: int) -> NDArray[np.bool_]:
    """Draw a corner's mark, True where white: rows from the toe, columns from left."""
    drawn = cv2.aruco.generateImageMarker(dictionary(), MARK_IDS[corner], SQUARES)
    return np.asarray(drawn) > 0


def mark_corners_mm(corner: int) -> Array:
    """Give the mark's own corners (4, 2), along and across, from the face's corner.

    They go round as a reader of marks gives them: from the toe's left, seen with the
    toe pointing away.
    """
    along, across = SIGNS[corner]
    middle = QUIET_MM + MARK_MM / 2
    half = MARK_MM / 2
    square = np.array([[-half, -half], [-half, half], [half, half], [half, -half]])
    corners: Array = square + np.array([along * middle, across * middle])
    return corners


def card_outline_mm(corner: int) -> Array:
    """Give the line to cut the paper along, (6, 2), from the face's corner."""
    along, across = SIGNS[corner]
    shape = np.array(
        [
            [OUTER_MM, OUTER_MM],
            [OUTER_MM, -ARM_MM],
            [-LIP_MM, -ARM_MM],
            [-LIP_MM, -LIP_MM],
            [-ARM_MM, -LIP_MM],
            [-ARM_MM, OUTER_MM],
        ]
    )
    outline: Array = shape * np.array([along, across])
    return outline
