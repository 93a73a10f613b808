"""Look up a picture between its pixels, and smooth it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Values = NDArray[np.float32]


def values_at(picture: NDArray[np.uint8] | Values, places_px: Array) -> Values:
    """Give the picture at places (n, m, 2), interpolated; its edge goes on outside."""
    found = cv2.remap(
        picture,
        places_px[..., 0].astype(np.float32),
        places_px[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(found, dtype=np.float32)


def shrunk(picture: NDArray[np.uint8], longer_px: float) -> NDArray[np.uint8]:
    """Halve a picture as long as it stays so long; a last odd row or column goes."""
    while max(picture.shape[:2]) >= 2 * longer_px and min(picture.shape[:2]) >= 2:
        # Twice by twice is many times as fast as any other share.
        high, wide = picture.shape[0] // 2, picture.shape[1] // 2
        even = picture[: 2 * high, : 2 * wide]
        half = cv2.resize(even, (wide, high), interpolation=cv2.INTER_AREA)
        picture = np.asarray(half, np.uint8)
    return picture


def blurred(values: Values, sigma_px: float, size: tuple[int, int] = (0, 0)) -> Values:
    """Smooth a small picture or map; ``size`` limits the reach in pixels."""
    return np.asarray(cv2.GaussianBlur(values, size, sigma_px), dtype=np.float32)


def highest_near(values: Values, rows: int, columns: int) -> Values:
    """Give the highest value within a window of so many rows and columns."""
    window = np.ones((rows, columns), np.uint8)
    return np.asarray(cv2.dilate(values, window), dtype=np.float32)
