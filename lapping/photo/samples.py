"""The rectified face as samples of brightness, and what of each could be seen."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import squares
from lapping.face import Face
from lapping.photo.fields import Array
from lapping.photo.ink import SQUARE

FINER = 2
"""The face is rectified so many times finer than it is sampled, to find glare in."""
EXPONENT = 1.5
"""Display values to this power are mixed where ink covers part of a sample. Light is
added at 2.2 (IEC 61966-2-1, about), a phone's tone curve takes part of that back, and
ink that thins rather than breaks up is nearer to 1: in between errs least."""
CLIPPED = 252
"""From this display value on a channel says no more how bright it was."""
BLACK = 6
"""Below this display value all three channels are noise and rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Samples:
    """Brightness (rows along, columns across, 3) and the seen share of each sample.

    SQUARE samples each way make one small square of the contact map.
    """

    bright: Array
    seen: Array
    metal: NDArray[np.bool_]
    clipped: float
    step_mm: float

    @property
    def log(self) -> Array:
        """Give the logarithm of the brightness."""
        return np.asarray(np.log(self.bright))


def sample(pixels: NDArray[np.uint8], corners_px: Array, face: Face) -> Samples:
    """Rectify the face and sample it, a few samples to each millimetre."""
    down, over = squares(face)
    rows, columns = down * SQUARE, over * SQUARE
    size = (columns * FINER, rows * FINER)
    across, along = size
    # Pixel centres are whole numbers, so the face's edge lies half a pixel outside.
    face_px = np.array(
        [[0, 0], [across, 0], [across, along], [0, along]], dtype=np.float32
    ) - np.float32(0.5)
    to_photo = cv2.getPerspectiveTransform(face_px, corners_px.astype(np.float32))
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    flat = cv2.warpPerspective(pixels, to_photo, size, flags=flags)
    # The frame as a polygon: exact, and no second warp of a whole picture.
    frame = np.ones(pixels.shape[:2], np.uint8)
    inside = cv2.warpPerspective(
        frame, to_photo, size, flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    )
    # One channel may be full of the ink's own colour; two of them are glare.
    clipped = ((flat >= CLIPPED).sum(axis=2) >= 2).astype(np.uint8)
    lost = cv2.dilate(clipped, np.ones((3, 3), np.uint8)) | (flat.max(axis=2) < BLACK)
    seen = ((lost == 0) & (inside > 0)).astype(np.float32)
    table = ((np.arange(256) / 255) ** EXPONENT + 1e-3).astype(np.float32)
    bright = cv2.LUT(flat, table)
    whole = (columns, rows)
    amount = cv2.resize(seen, whole, interpolation=cv2.INTER_AREA)
    mean = cv2.resize(bright * seen[:, :, None], whole, interpolation=cv2.INTER_AREA)
    plain = cv2.resize(bright, whole, interpolation=cv2.INTER_AREA)
    share = np.maximum(amount, 1e-6)[:, :, None]
    metal = metal_samples(face, rows, columns)
    on_metal = cv2.resize(
        clipped.astype(np.float32), whole, interpolation=cv2.INTER_AREA
    )
    return Samples(
        bright=np.where(amount[:, :, None] > 0.05, mean / share, plain).astype(float),
        seen=np.where(metal, amount, 0.0).astype(float),
        metal=metal,
        clipped=float(on_metal[metal].mean()),
        step_mm=face.length_mm / rows,
    )


def metal_samples(face: Face, rows: int, columns: int) -> NDArray[np.bool_]:
    """Say which samples lie on metal, outside the mouth and the holes."""
    along = (np.arange(rows) + 0.5) * face.length_mm / rows
    across = (np.arange(columns) + 0.5) * face.width_mm / columns
    metal = np.ones((rows, columns), np.bool_)
    if face.mouth is not None:
        left, right = face.mouth_sides_mm()
        open_along = (along > face.mouth.from_mm) & (along < face.mouth.to_mm)
        metal[np.ix_(open_along, (across > left) & (across < right))] = False
    for hole in face.holes:
        d2 = (along[:, None] - hole.along_mm) ** 2 + (across - hole.across_mm) ** 2
        metal[d2 < (hole.diameter_mm / 2) ** 2] = False
    return metal


def to_squares(values: Array) -> Array:
    """Give the mean of the samples of each small square."""
    rows, columns = values.shape
    shape = rows // SQUARE, SQUARE, columns // SQUARE, SQUARE
    return np.asarray(values.reshape(shape).mean(axis=(1, 3)))
