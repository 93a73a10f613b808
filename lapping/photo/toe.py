"""Which end of the face found is the toe: as said, or as the mouth shows."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np

from lapping.errors import BadInput
from lapping.face import Face, Mouth
from lapping.photo.rectify import rectify
from lapping.photo.turned import Pixels, Points

Toe = Literal["left", "right", "up", "down"]
WAYS: dict[Toe, tuple[int, int]] = {
    "left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1),
}  # fmt: skip
PX_PER_MM = 2.0
STEEP = 0.5
"""The toe lies to a side if the face points there within 60°."""
SLOT, CLEARER = 0.5, 0.4
"""The mouth is darker than the metal beside it by so much in log brightness, and by so
much more than whatever lies at its place the other way round."""
SLOTS_MM = (3.0, 5.0, 8.0, 12.0)
OFF_MIDDLE = 0.08
"""A mouth nearer to the middle than this share of the length tells no toe."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ordered:
    """Corners (4, 2) as toe-left, toe-right, heel-right, heel-left."""

    corners_px: Points
    warnings: tuple[str, ...] = ()


def corners_in_order(
    pixels: Pixels, corners_px: Points, face: Face, toe: Toe | None
) -> Ordered:
    """Put the corners found into the face's order; BadInput asks where it cannot.

    ``corners_px`` go round the face either way. ``toe`` says where the toe lies in the
    photo; without it a mouth in sight tells.
    """
    one = _ends_first(np.asarray(corners_px, np.float64), face)
    other = np.roll(one, 2, axis=0)
    shown = _by_mouth(pixels, one, other, face)
    if toe is not None:
        said = _as_said(one, other, toe)
        if shown is None or shown is said:
            return Ordered(corners_px=said)
        doubt = (
            "the mouth is seen where it would be with the toe at the other end; see "
            f"whether --toe {toe} is right"
        )
        return Ordered(corners_px=said, warnings=(doubt,))
    if shown is not None:
        return Ordered(corners_px=shown)
    if face.mouth is not None:
        raise BadInput(_ask("the mouth does not show which end is the toe"))
    found = _find_slot(_log(pixels, one, face), face)
    if found is None or abs(found / face.length_mm - 0.5) < OFF_MIDDLE:
        raise BadInput(_ask("nothing shows which end is the toe"))
    nearer = one if found < face.length_mm / 2 else other
    return Ordered(
        corners_px=nearer,
        warnings=(
            "the end nearer to the mouth was taken for the toe, as on most planes; "
            "--toe says it for sure",
        ),
    )


def _by_mouth(pixels: Pixels, one: Points, other: Points, face: Face) -> Points | None:
    """Give the order that puts the mouth where it is seen; None if none does."""
    mouth = face.mouth
    if mouth is None:
        return None
    middle = (mouth.from_mm + mouth.to_mm) / 2
    if abs(middle - face.length_mm / 2) <= OFF_MIDDLE * face.length_mm:
        return None
    ways = (one, other)
    dark = [_slot(_log(pixels, way, face), face, mouth) for way in ways]
    best = int(np.argmax(dark))
    clear = dark[best] > SLOT and dark[best] - dark[1 - best] > CLEARER
    return ways[best] if clear else None


def _ask(why: str) -> str:
    ways = ", ".join(get_args(Toe))
    return f"{why}; say where the toe lies in the photo with --toe ({ways})"


def _ends_first(corners: Points, face: Face) -> Points:
    """Turn the corners clockwise, as a face is seen, beginning with an end's left."""
    ahead = np.roll(corners, -1, axis=0)
    area = corners[:, 0] * ahead[:, 1] - corners[:, 1] * ahead[:, 0]
    if area.sum() < 0:
        corners = corners[::-1]
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    first_is_long = sides[0] + sides[2] > sides[1] + sides[3]
    if first_is_long == (face.length_mm > face.width_mm):
        corners = np.roll(corners, -1, axis=0)
    return corners


def _as_said(one: Points, other: Points, toe: Toe) -> Points:
    towards = one[:2].mean(axis=0) - one[2:].mean(axis=0)
    share = float(towards @ np.array(WAYS[toe]) / np.linalg.norm(towards))
    if abs(share) < STEEP:
        ways = [way for way in ("left", "right", "up", "down") if way != toe]
        lies = "across" if toe in {"left", "right"} else "along"
        message = (
            f"--toe {toe}: the face lies {lies} the photo's other way, so neither end "
            f"is there; say {', '.join(ways[:-1])} or {ways[-1]}"
        )
        raise BadInput(message)
    return one if share > 0 else other


def _log(pixels: Pixels, corners: Points, face: Face) -> Points:
    """Give log brightness, rows along at PX_PER_MM, NaN where nothing was shown."""
    flat = rectify(pixels, corners, face, PX_PER_MM)
    log = np.log(flat.picture.max(axis=2).astype(np.float64) + 2)
    return np.asarray(np.where(flat.inside, log, np.nan))


def _slot(log: Points, face: Face, mouth: Mouth) -> float:
    """Say how much darker the mouth's place is than the metal beside it."""
    left, right = replace(face, mouth=mouth).mouth_sides_mm()
    inset = (right - left) * 0.15
    first, last = ((end * PX_PER_MM) for end in (left + inset, right - inset))
    strip = log[:, round(first) : round(last)]
    rows = (np.arange(len(log)) + 0.5) / PX_PER_MM
    wide = mouth.to_mm - mouth.from_mm
    inside = (rows > mouth.from_mm + wide / 4) & (rows < mouth.to_mm - wide / 4)
    near = max(wide, 4.0)
    beside = ((rows > mouth.from_mm - near) & (rows < mouth.from_mm - 1)) | (
        (rows < mouth.to_mm + near) & (rows > mouth.to_mm + 1)
    )
    shown = [strip[part][np.isfinite(strip[part])] for part in (inside, beside)]
    if not all(part.size for part in shown):
        return 0.0
    # A high quantile of the slot: a line of ink is dark too, but not all across.
    return float(np.median(shown[1]) - np.quantile(shown[0], 0.8))


def _find_slot(log: Points, face: Face) -> float | None:
    """Give where along the face a slot lies, if one stands out."""
    best, found = SLOT + CLEARER, None
    for wide in SLOTS_MM:
        for start in np.arange(10.0, face.length_mm - 10.0 - wide).tolist():
            dark = _slot(log, face, Mouth(from_mm=start, to_mm=start + wide))
            if dark > best:
                best, found = dark, start + wide / 2
    return found
