"""Look up a picture between its pixels."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def values_at(
    picture: NDArray[np.uint8] | NDArray[np.float32], places_px: Array
) -> NDArray[np.float32]:
    """Give the picture at places (n, m, 2), interpolated; its edge goes on outside."""
    found = cv2.remap(
        picture,
        places_px[..., 0].astype(np.float32),
        places_px[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(found, dtype=np.float32)
