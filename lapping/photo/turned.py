"""Turn a picture upright as its EXIF mark says, and keep track of its pixels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

import cv2
import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]
Points = NDArray[np.float64]
ORIENTATION_TAG = 0x0112
_SIZE_OF_TYPE = {3: 2, 4: 4}


class Turn(NamedTuple):
    """What makes a stored picture upright: axes swapped first, then mirrored."""

    swapped: bool
    mirrored_x: bool
    mirrored_y: bool


UPRIGHT = Turn(swapped=False, mirrored_x=False, mirrored_y=False)
# Exif 2.32 (CIPA DC-008), table for the tag Orientation, 1 to 8.
_TURNS = (
    UPRIGHT,
    Turn(swapped=False, mirrored_x=True, mirrored_y=False),
    Turn(swapped=False, mirrored_x=True, mirrored_y=True),
    Turn(swapped=False, mirrored_x=False, mirrored_y=True),
    Turn(swapped=True, mirrored_x=False, mirrored_y=False),
    Turn(swapped=True, mirrored_x=True, mirrored_y=False),
    Turn(swapped=True, mirrored_x=True, mirrored_y=True),
    Turn(swapped=True, mirrored_x=False, mirrored_y=True),
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picture:
    """A photo as people see it: BGR pixels, upright, at full size or reduced.

    ``reduced`` says for how many of the full picture a pixel stands, each way.
    ``width_px`` and ``height_px`` are those of the full picture, upright. ``grey``
    says that it holds no colour, so that coloured inks cannot be told. Coordinates
    are (x, y) with pixel centres at whole numbers.
    """

    pixels: Pixels
    reduced: int
    width_px: int
    height_px: int
    grey: bool
    first_px: tuple[float, float] = (0.0, 0.0)
    """Where the middle of the first pixel lies in the full picture."""

    def to_full(self, points: Points) -> Points:
        """Turn (..., 2) coordinates in ``pixels`` into those of the full picture."""
        full = np.asarray(points, np.float64) * self.reduced + np.array(self.first_px)
        return np.asarray(full)

    def to_pixels(self, points: Points) -> Points:
        """Turn (..., 2) coordinates of the full picture into those in ``pixels``."""
        back = np.asarray(points, np.float64) - np.array(self.first_px)
        return np.asarray(back / self.reduced)


def turn_of(tiff: bytes) -> Turn:
    """Give the turn that the Orientation of an Exif block asks for; none if unsaid."""
    if tiff[:2] not in {b"II", b"MM"} or len(tiff) < 8:
        return UPRIGHT
    order: Literal["little", "big"] = "little" if tiff[:2] == b"II" else "big"

    def number(at: int, size: int) -> int:
        return int.from_bytes(tiff[at : at + size], order)

    start = number(4, 4)
    for entry in range(number(start, 2)):
        at = start + 2 + 12 * entry
        if at + 12 > len(tiff):
            break
        if number(at, 2) == ORIENTATION_TAG:
            value = number(at + 8, _SIZE_OF_TYPE.get(number(at + 2, 2), 2))
            return _TURNS[value - 1] if 1 <= value <= len(_TURNS) else UPRIGHT
    return UPRIGHT


def turned(pixels: Pixels, turn: Turn) -> Pixels:
    """Make stored pixels upright."""
    # One step wherever there is one: pictures are large.
    seen: NDArray[np.generic] = pixels
    match turn:
        case (False, True, False):
            seen = cv2.flip(pixels, 1)
        case (False, False, True):
            seen = cv2.flip(pixels, 0)
        case (False, True, True):
            seen = cv2.rotate(pixels, cv2.ROTATE_180)
        case (True, True, False):
            seen = cv2.rotate(pixels, cv2.ROTATE_90_CLOCKWISE)
        case (True, False, True):
            seen = cv2.rotate(pixels, cv2.ROTATE_90_COUNTERCLOCKWISE)
        case (True, False, False):
            seen = cv2.transpose(pixels)
        case (True, True, True):
            seen = cv2.rotate(cv2.transpose(pixels), cv2.ROTATE_180)
    return np.asarray(seen, np.uint8)


def upright(
    pixels: Pixels, turn: Turn, *, width: int, height: int, reduced: int, grey: bool
) -> Picture:
    """Make the record of a picture stored ``width`` by ``height``, decoded reduced."""
    pixels = turned(pixels, turn)
    sizes = (height, width) if turn.swapped else (width, height)
    # Where the size does not divide, the last pixel of the reduced picture stands for
    # fewer than the others do; mirrored, it comes first.
    first = [
        (full - reduced * small if mirrored else 0) + (reduced - 1) / 2
        for full, small, mirrored in zip(
            sizes,
            (pixels.shape[1], pixels.shape[0]),
            (turn.mirrored_x, turn.mirrored_y),
            strict=True,
        )
    ]
    pixels.setflags(write=False)
    return Picture(
        pixels=pixels,
        reduced=reduced,
        width_px=sizes[0],
        height_px=sizes[1],
        grey=grey,
        first_px=(first[0], first[1]),
    )
