"""From the four corners of a face in a photo to a picture in the face's own frame."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.photo.turned import Pixels, Points

Matrix = NDArray[np.float64]
MOST_FINER = 4
"""Where the photo is finer than asked, so many samples a pixel are averaged each way
at most; what is finer still is reduced before."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rectified:
    """A face seen straight on: rows along from the toe, columns across from the left.

    The middle of the pixel in row r and column c lies ``(r + 0.5) * length / rows``
    along and ``(c + 0.5) * width / columns`` across. ``inside`` says which pixels the
    photo showed; the others are black and mean nothing.
    """

    picture: Pixels
    inside: NDArray[np.bool_]
    px_per_mm: float


def homography(corners_px: Points, face: Face) -> Matrix:
    """Give the matrix that takes (along_mm, across_mm, 1) to (x, y, 1) in the photo.

    ``corners_px`` are toe-left, toe-right, heel-right and heel-left, pixel centres at
    whole numbers. Closed form of Heckbert (1989), Fundamentals of texture mapping and
    image warping, section 2.2.3. ValueError where three of them lie on a line.
    """
    a, b, c, d = np.asarray(corners_px, np.float64)
    # Of the unit square: (0, 0), (0, 1), (1, 1), (1, 0) as along and across run.
    one, other, rest = b - c, d - c, a - b + c - d
    scale = float(np.linalg.det(np.column_stack([other, one])))
    if not math.isfinite(scale) or scale == 0:
        message = "the corners lie on a line"
        raise ValueError(message)
    g = float(np.linalg.det(np.column_stack([rest, one]))) / scale
    h = float(np.linalg.det(np.column_stack([other, rest]))) / scale
    columns = [
        np.append(d - a + g * d, g) / face.length_mm,
        np.append(b - a + h * b, h) / face.width_mm,
        np.append(a, 1.0),
    ]
    return np.asarray(np.column_stack(columns))


def to_photo(matrix: Matrix, along_mm: Points, across_mm: Points) -> Points:
    """Give the (..., 2) coordinates in the photo of places on the face."""
    along, across = np.broadcast_arrays(along_mm, across_mm)
    places = np.stack([along, across, np.ones(along.shape)], axis=-1) @ matrix.T
    return np.asarray(places[..., :2] / places[..., 2:])


def natural_px_per_mm(corners_px: Points, face: Face) -> float:
    """Give the photo's poorest resolution on the face, in any direction, anywhere."""
    return float(_stretch(homography(corners_px, face), face).min())


def rectify(
    pixels: NDArray[np.uint8], corners_px: Points, face: Face, px_per_mm: float
) -> Rectified:
    """Draw the face as it looks straight on, without jagged edges or moiré.

    ``corners_px`` are those in ``pixels``; they may lie outside the picture.
    """
    rows = max(1, round(face.length_mm * px_per_mm))
    columns = max(1, round(face.width_mm * px_per_mm))
    matrix = homography(corners_px, face)
    stretch = _stretch(matrix, face) / px_per_mm
    small, offset, fewer = _reduced(pixels, corners_px, float(stretch.min()))
    finer = min(MOST_FINER, max(1, math.ceil(float(stretch.max()) / fewer - 0.25)))
    # From samples of the output to the face, to the photo, to what is left of it.
    along, across = face.length_mm / rows / finer, face.width_mm / columns / finer
    to_places = np.array(
        [[0, along, along / 2], [across, 0, across / 2], [0, 0, 1]], np.float64
    )
    shift = (1 / fewer - 1) / 2
    to_small = np.array(
        [
            [1 / fewer, 0, shift - offset[0] / fewer],
            [0, 1 / fewer, shift - offset[1] / fewer],
            [0, 0, 1],
        ]
    )
    drawn = cv2.warpPerspective(
        small,
        to_small @ matrix @ to_places,
        (columns * finer, rows * finer),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    if finer > 1:
        drawn = cv2.resize(drawn, (columns, rows), interpolation=cv2.INTER_AREA)
    inside = _inside(matrix, face, (rows, columns), pixels.shape[:2])
    picture = np.asarray(drawn, np.uint8)
    if not inside.all():
        picture[~inside] = 0
    picture.setflags(write=False)
    inside.setflags(write=False)
    return Rectified(picture=picture, inside=inside, px_per_mm=px_per_mm)


def _stretch(matrix: Matrix, face: Face) -> Matrix:
    """Give the least and the greatest pixels per mm at places all over the face."""
    along, across = np.meshgrid(
        np.linspace(0, face.length_mm, 5), np.linspace(0, face.width_mm, 5)
    )
    x_y = to_photo(matrix, along, across)
    below = matrix[2, 0] * along + matrix[2, 1] * across + matrix[2, 2]
    slopes = (matrix[:2, :2] - x_y[..., :, None] * matrix[2, :2]) / below[
        ..., None, None
    ]
    return np.asarray(np.linalg.svd(slopes, compute_uv=False))


def _reduced(
    pixels: NDArray[np.uint8], corners_px: Points, stretch: float
) -> tuple[NDArray[np.uint8], tuple[int, int], int]:
    """Give the part that holds the face, so many times reduced as it is too fine."""
    # Not all the way: averaging in two steps lets less through than one box does.
    fewer = max(1, math.floor(stretch / 2))
    height, width = pixels.shape[:2]
    low = np.floor(np.min(corners_px, axis=0)).astype(int) - 2 * fewer
    high = np.ceil(np.max(corners_px, axis=0)).astype(int) + 2 * fewer + 1
    left, top = (int(n) for n in np.clip(low, 0, (width - 1, height - 1)))
    right, bottom = (
        int(n) for n in np.clip(high, (left + 1, top + 1), (width, height))
    )
    part = pixels[top:bottom, left:right]
    if fewer == 1:
        return part, (left, top), 1
    # Whole pixels only: a last one averaged from fewer would be moved.
    wide, tall = (part.shape[1] // fewer, part.shape[0] // fewer)
    if not wide or not tall:
        return part, (left, top), 1
    part = part[: tall * fewer, : wide * fewer]
    small = cv2.resize(part, (wide, tall), interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8), (left, top), fewer


def _inside(
    matrix: Matrix, face: Face, size: tuple[int, int], shown: tuple[int, ...]
) -> NDArray[np.bool_]:
    rows, columns = size
    along = (np.arange(rows) + 0.5) * face.length_mm / rows
    across = (np.arange(columns) + 0.5) * face.width_mm / columns
    # Pixels are asked one by one only where some corner of the face was not shown.
    ends = to_photo(matrix, along[[0, -1]][:, None], across[[0, -1]][None, :])
    if not _shown(ends, shown).all():
        return _shown(to_photo(matrix, along[:, None], across[None, :]), shown)
    return np.ones(size, bool)


def _shown(points: Points, shown: tuple[int, ...]) -> NDArray[np.bool_]:
    x, y = points[..., 0], points[..., 1]
    found = (x >= -0.5) & (x <= shown[1] - 0.5) & (y >= -0.5) & (y <= shown[0] - 0.5)
    return np.asarray(found)
