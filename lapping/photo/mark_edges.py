"""Find the marks in a picture and set their corners to a small part of a pixel.

A mark's corner is where lines through two of its edges cross. Each edge is taken at
many places, half-way from the black border to the white outside it as they are there.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.cards import MARK_IDS, MARK_MM, OUTER_MM, SQUARES, dictionary
from lapping.photo.sampling import shrunk, values_at

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

SEARCH_PX = 1000
"""Long side of the picture that is searched first; a mark there is 30 px or more."""
GLANCE_PX, FILLS = 20.0, 0.8
"""A glance is taken at marks of so many pixels at least, if the face and its cards
fill so much of the picture."""
WINDOWS, GLANCE_WINDOWS = (13, 33), (11, 11)
LEAST_ROUND = 0.06
"""Least way round a mark, over the long side of the picture."""
ALONG = np.linspace(0.08, 0.92, 41)
OFF_SQUARES = np.linspace(-0.9, 0.9, 37)
PLATEAU = 0.6
"""Beyond this many squares from the edge it is black or white."""
LEAST_CONTRAST = 12.0


def seen_marks(picture: Picture, length_mm: float) -> list[tuple[int, Array]]:
    """Give every mark of a card in the picture: its corner, and its own corners.

    ``length_mm`` is about that of the face, which tells how large marks are.
    """
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), dtype=np.uint8)
    least = GLANCE_PX / MARK_MM * (length_mm + 2 * OUTER_MM) / FILLS
    # Not one mark at a glance is a photo without cards, and needs no slower look.
    if not _detect(shrunk(grey, least), GLANCE_WINDOWS):
        return []
    share = min(1.0, SEARCH_PX / max(grey.shape))
    small = grey
    if share < 1.0:
        small = np.asarray(
            cv2.resize(grey, None, fx=share, fy=share, interpolation=cv2.INTER_AREA),
            dtype=np.uint8,
        )
    found = _detect(small, WINDOWS)
    scale = np.array(grey.shape[::-1]) / np.array(small.shape[::-1])
    if share < 1.0 and len(found) < len(MARK_IDS):
        found, scale = _detect(grey, WINDOWS), np.ones(2)
    return [
        (corner, _sharpen(grey, (corners + 0.5) * scale - 0.5))
        for corner, corners in found
    ]


def _detect(grey: Picture, windows: tuple[int, int]) -> list[tuple[int, Array]]:
    settings = cv2.aruco.DetectorParameters()
    settings.adaptiveThreshWinSizeMin, settings.adaptiveThreshWinSizeMax = windows
    settings.adaptiveThreshWinSizeStep = 10
    settings.minMarkerPerimeterRate = LEAST_ROUND
    detector = cv2.aruco.ArucoDetector(dictionary(), settings)
    corners, ids, _ = detector.detectMarkers(grey)
    if ids is None:
        return []
    return [
        (MARK_IDS.index(int(one)), four[0].astype(np.float64))
        for one, four in zip(np.ravel(ids), corners, strict=True)
        if int(one) in MARK_IDS
    ]


def _sharpen(grey: Picture, corners: Array) -> Array:
    for _ in range(2):
        lines = [_edge_line(grey, corners, side) for side in range(4)]
        corners = np.array(
            [_crossing(lines[side - 1], lines[side]) for side in range(4)]
        )
    return corners


def _edge_line(grey: Picture, corners: Array, side: int) -> tuple[Array, Array]:
    """Give two points of the line of an edge; the old edge where it is unclear."""
    start, stop = corners[side], corners[(side + 1) % 4]
    way = stop - start
    across = corners[(side + 1) % 4] - corners[(side + 2) % 4]
    square = across / SQUARES
    at = start + ALONG[:, None] * way
    places = at[:, None, :] + OFF_SQUARES[None, :, None] * square
    values = values_at(grey, places).astype(np.float64)
    black = np.median(values[:, OFF_SQUARES < -PLATEAU], axis=1)
    white = np.median(values[:, OFF_SQUARES > PLATEAU], axis=1)
    clear = white - black > LEAST_CONTRAST
    if clear.sum() < ALONG.size // 2:
        return start, stop
    above = values > ((black + white) / 2)[:, None]
    # The last place that is still black, counted from outside.
    last = OFF_SQUARES.size - 1 - np.argmax(~above[:, ::-1], axis=1)
    clear &= (last < OFF_SQUARES.size - 1) & ~above.all(axis=1)
    rows = np.arange(ALONG.size)[clear]
    below = last[clear]
    v0, v1 = values[rows, below], values[rows, below + 1]
    part = ((black + white)[clear] / 2 - v0) / (v1 - v0)
    off = OFF_SQUARES[below] + part * (OFF_SQUARES[1] - OFF_SQUARES[0])
    slope, level = _line(ALONG[clear], off)
    return start + level * square, stop + (level + slope) * square


def _line(along: Array, off: Array) -> tuple[float, float]:
    """Fit a line by least squares, without the places that lie far from it."""
    keep = np.ones(along.size, dtype=bool)
    slope, level = 0.0, float(np.median(off))
    for _ in range(4):
        gap = off - (level + slope * along)
        spread = 1.4826 * float(np.median(np.abs(gap - np.median(gap))))
        keep = np.abs(gap - np.median(gap)) <= max(3 * spread, 0.02)
        slope, level = np.polyfit(along[keep], off[keep], 1)
    return float(slope), float(level)


def _crossing(one: tuple[Array, Array], other: tuple[Array, Array]) -> Array:
    (a, b), (c, d) = one, other
    way, over = b - a, d - c
    cross = way[0] * over[1] - way[1] * over[0]
    part = ((c - a)[0] * over[1] - (c - a)[1] * over[0]) / cross
    point: Array = a + part * way
    return point
