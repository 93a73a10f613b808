"""Dark slots across a face, as the mouth is one, in a picture of it straight on."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.photo.outline_picture import Picture
from lapping.photo.sampling import Values

Array = NDArray[np.float64]

PX_PER_MM = 2.0
BESIDE_MM, RIM_SHARE, CORE = (0.8, 4.0), 0.14, 0.6
NEARLY_ALL = 20


def straightened(picture: Picture, around: Array, face: Face) -> Values:
    """Give the face in grey: a row for each half millimetre along, from side 0."""
    wide, long = (int(PX_PER_MM * mm) for mm in (face.width_mm, face.length_mm))
    corners = np.array([[0, 0], [wide, 0], [wide, long], [0, long]]) - 0.5
    to_picture = cv2.getPerspectiveTransform(
        corners.astype(np.float32), around.astype(np.float32)
    )
    flat = cv2.warpPerspective(
        picture,
        to_picture,
        (wide, long),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(cv2.cvtColor(flat, cv2.COLOR_BGR2GRAY), np.float32)


def slots(grey: Values, middles_mm: Array, wide_mm: float) -> Array:
    """Say how clear a dark slot across nearly all the width is at each place.

    The share of the face's own range of grey by which it is darker than the metal
    beside it, column by column: what nearly all columns reach.
    """
    long, wide = grey.shape
    rim = int(RIM_SHARE * wide)
    low, high = np.percentile(grey[::2, ::2], (2, 95))
    scale = max(float(high - low), 20.0)
    columns = grey[:, rim : wide - rim] if wide > 4 * rim else grey
    total = np.zeros((long + 1, columns.shape[1]))
    np.cumsum(columns, axis=0, out=total[1:])

    def mean(start_mm: Array, stop_mm: Array) -> Array:
        start = np.rint(start_mm * PX_PER_MM).astype(int).clip(0, long - 1)
        stop = np.rint(stop_mm * PX_PER_MM).astype(int)
        stop = np.maximum(stop.clip(0, long), start + 1)
        result: Array = (total[stop] - total[start]) / (stop - start)[:, None]
        return result

    half = CORE * wide_mm / 2
    core = mean(middles_mm - half, middles_mm + half)
    near, far = BESIDE_MM[0] + wide_mm / 2, BESIDE_MM[1] + wide_mm / 2
    beside = np.minimum(
        mean(middles_mm - far, middles_mm - near),
        mean(middles_mm + near, middles_mm + far),
    )
    deep: Array = np.percentile(beside - core, NEARLY_ALL, axis=1) / scale
    return deep
