"""Tell a photo from a drawing or a printed sheet: no camera gives exactly even colour.

A sensor's noise is in every pixel, so that neighbours are hardly ever alike to the last
bit but where they are blown out.
"""

from __future__ import annotations

import cv2
import numpy as np

from lapping.errors import BadInput
from lapping.photo.fields import Array
from lapping.photo.samples import BLACK, CLIPPED
from lapping.photo.turned import Pixels

EVERY = 8
"""Of pixels every eighth, each way, is held against those around it."""
REACH = 2
MOST_EVEN = 0.25
"""Share of the face in squares of 5 pixels without any shade, glare included: at most
0.15 in 238 drawn photos; 0.5 and more in maps and sheets as PNG."""
LEAST_SHADED = 0.15
"""Share of the face that is neither blown out nor black: 0.33 and more in the same."""


def refuse_drawing(pixels: Pixels, corners_px: Array) -> None:
    """Refuse a face, corners in ``pixels``, without the shades of metal and ink.

    A drawing that was saved as JPEG or made smaller may have shades enough to pass.
    """
    corners = np.rint(corners_px).astype(np.int32)
    left, top = np.maximum(corners.min(axis=0), 0)
    right, bottom = np.maximum(corners.max(axis=0) + 1, 0)
    face = pixels[top:bottom, left:right]
    if min(face.shape[:2]) <= 2 * REACH:
        message = (
            "hardly anything of the face is in the photo; see where its corners are"
        )
        raise BadInput(message)
    frame = np.zeros(face.shape[:2], np.uint8)
    cv2.fillConvexPoly(frame, corners - (left, top), 1)
    inside = _every(frame) > 0
    one = _every(face)
    even = np.ones(one.shape[:2], np.bool_)
    for down in (-REACH, 0, REACH):
        for over in (-REACH, 0, REACH):
            same = one == _every(face, down, over)
            even &= same[..., 0] & same[..., 1] & same[..., 2]
    shaded = ((one >= CLIPPED).sum(axis=2) < 2) & (one.max(axis=2) >= BLACK)
    whole = max(int(inside.sum()), 1)
    plain = 100 * (1 - (shaded & inside).sum() / whole)
    if plain > 100 * (1 - LEAST_SHADED):
        message = (
            f"this does not look like a scribbled sole: {plain:.0f} % of what would be "
            "the face is plain white or black; if it is a photo of one, take it again "
            "without glare or deep shadow"
        )
        raise BadInput(message)
    alike = 100 * (even & inside).sum() / whole
    if alike > 100 * MOST_EVEN:
        message = (
            f"this does not look like a scribbled sole: {alike:.0f} % of what would be "
            "the face is of exactly even colour, as in a drawing and in no photo of "
            "metal; give the photo as the phone saved it"
        )
        raise BadInput(message)


def _every(pixels: Pixels, down: int = 0, over: int = 0) -> Pixels:
    """Give a few pixels, or those so far down and over from them."""
    high, wide = pixels.shape[:2]
    rows = slice(REACH + down, high - REACH + down, EVERY)
    return pixels[rows, REACH + over : wide - REACH + over : EVERY]
