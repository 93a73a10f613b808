"""The rectified face as samples of brightness, and what of each could be seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import squares
from lapping.face import Face, Zone
from lapping.grid import metal_mask
from lapping.photo.fields import Array
from lapping.photo.ink import SQUARE

FINER = 2
"""The face is rectified so many times finer than it is sampled, to find glare in."""
LIGHT = 2.2
"""Display values to this power are light (IEC 61966-2-1, about); the phone's own tone
curve is not known."""
EXPONENT = 1.5
"""Samples are means of display values to this power. Where ink covers part of a sample
light adds up, but ink that thins rather than breaks up is nearer to 1, and a photo by
itself does not tell which."""
TO_LIGHT = LIGHT / EXPONENT
DIM = 1e-3
"""Brightness is told from darkness by no less than this, of 1."""
CLIPPED = 252
"""From this display value on a channel says no more how bright it was."""
SPOT_MM, HALO_MM = 5.0, 8.0
"""A blown-out spot at least so wide is a mirrored light; so wide about it the light
falls off too steeply to tell ink by. A narrower one is bright metal: a gap between
lines, a scratch, a grain."""
BROAD_MM, SPECK_MM = 12.0, 1.5
"""Noise leaves specks of such a size in glare that are not quite blown out: in a spot
so wide they do not count."""
BLACK = 6
"""Below this display value all three channels are noise and rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Samples:
    """Log brightness (3, rows along, columns across), and what of each sample was seen.

    SQUARE samples each way make one small square of the contact map.
    """

    log: Array
    seen: Array
    metal: NDArray[np.bool_]
    clipped: float
    step_mm: float

    @property
    def light(self) -> Array:
        """Give about the light itself (3, rows, columns)."""
        bright = np.maximum(np.exp(self.log) - np.float32(DIM), 0)
        return np.asarray(bright ** np.float32(TO_LIGHT))


def sample(
    pixels: NDArray[np.uint8],
    corners_px: Array,
    face: Face,
    covered: Sequence[Zone] = (),
) -> Samples:
    """Rectify the face and sample it, a few samples to each millimetre.

    ``covered`` are parts of it that lie under something else in the photo.
    """
    rows, columns = (SQUARE * many for many in squares(face))
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
    blue, green, red = cv2.split(flat)
    second = cv2.max(cv2.min(blue, green), cv2.min(cv2.max(blue, green), red))
    clipped = (second >= CLIPPED).astype(np.uint8)
    lost = _with_halo(clipped, FINER * rows / face.length_mm)
    lost |= (cv2.max(cv2.max(blue, green), red) < BLACK).astype(np.uint8)
    seen = ((lost == 0) & (inside > 0)).astype(np.float32)
    table = ((np.arange(256) / 255) ** EXPONENT + DIM).astype(np.float32)
    bright = cv2.LUT(flat, table)
    whole = (columns, rows)
    amount = cv2.resize(seen, whole, interpolation=cv2.INTER_AREA)
    plain = cv2.resize(bright, whole, interpolation=cv2.INTER_AREA)
    mean = plain
    if seen.min() < 1:
        part = bright * seen[:, :, None]
        mean = np.asarray(cv2.resize(part, whole, interpolation=cv2.INTER_AREA))
    share = np.maximum(amount, 1e-6)[:, :, None]
    along_mm = (np.arange(rows) + 0.5) * face.length_mm / rows
    across_mm = (np.arange(columns) + 0.5) * face.width_mm / columns
    metal = metal_mask(face, along_mm, across_mm)
    open_to_view = metal.copy()
    for zone in covered:
        down = (zone.along_from_mm <= along_mm) & (along_mm <= zone.along_to_mm)
        over = (zone.across_from_mm <= across_mm) & (across_mm <= zone.across_to_mm)
        open_to_view &= ~(down[:, None] & over)
    on_metal = cv2.resize(
        clipped.astype(np.float32), whole, interpolation=cv2.INTER_AREA
    )
    bright_there = np.where(amount[:, :, None] > 0.05, mean / share, plain)
    return Samples(
        log=np.ascontiguousarray(np.log(bright_there).transpose(2, 0, 1)),
        seen=np.where(open_to_view, amount, np.float32(0)),
        metal=metal,
        clipped=float(on_metal[metal].mean()),
        step_mm=face.length_mm / rows,
    )


def _with_halo(clipped: NDArray[np.uint8], px_per_mm: float) -> NDArray[np.uint8]:
    """Widen glare by its halo; bright metal hides no ink, and stays."""
    even = cv2.medianBlur(clipped, max(3, round(SPECK_MM * px_per_mm) | 1))
    spots = cv2.bitwise_or(
        cv2.morphologyEx(clipped, cv2.MORPH_OPEN, _disc(SPOT_MM * px_per_mm)),
        cv2.morphologyEx(even, cv2.MORPH_OPEN, _disc(BROAD_MM * px_per_mm)),
    )
    return np.asarray(cv2.dilate(spots, _disc(HALO_MM * px_per_mm)), np.uint8)


def _disc(size_px: float) -> NDArray[np.uint8]:
    across = max(3, round(size_px) | 1)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (across, across))
    return np.asarray(disc, np.uint8)


def to_squares(values: Array) -> NDArray[np.float64]:
    """Give the mean of the samples of each small square."""
    size = (values.shape[1] // SQUARE, values.shape[0] // SQUARE)
    wide = np.asarray(values, np.float64)
    return np.asarray(cv2.resize(wide, size, interpolation=cv2.INTER_AREA))
