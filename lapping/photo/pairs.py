"""Lay a before photo over an after photo: the scribble itself shows how."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.fields import Array

MOST_MM = 5.0
"""Corners are found to a few millimetres; a shift of more is no correction of them."""
ALIKE = 0.3
"""Correlation from which two scribbles are taken for the same."""
PLAINLY = 0.6
"""Correlation from which no end need be looked for elsewhere."""
ENDS_MM = (-3.0, -1.5, 0.0, 1.5, 3.0)
LEAST_GAIN = 0.02
WIDE_MM = 12.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """Where in the before photo's samples each sample of the after photo lies.

    ``shift`` (2, 3) takes columns and rows of the after photo to those of the before
    photo; ``alike`` is the correlation of what ink both have.
    """

    shift: Array
    alike: float


def darker(
    light: Array, weights: NDArray[np.float64], seen: Array, step_mm: float
) -> Array:
    """Give how much darker each sample is than the brightest near by, as a share.

    Glare and shadow are other ones in either photo; near by they are alike.
    """
    one = np.asarray(np.tensordot(weights, light, 1) / weights.sum(), np.float32)
    wide = max(3, round(WIDE_MM / step_mm) | 1)
    even = cv2.blur(np.where(seen > 0.5, one, np.float32(0)), (3, 3))
    bright = cv2.blur(cv2.dilate(even, np.ones((wide, wide), np.uint8)), (wide, wide))
    return np.asarray(1 - one / np.maximum(bright, 1e-6))


def lay_over(after: Array, before: Array, seen: Array, step_mm: float) -> Laid:
    """Find the small shift, turn and stretch that lays ``before`` over ``after``.

    Enhanced correlation (Evangelidis and Psarakis, IEEE PAMI 30, 2008, 1858-1865), on
    what ink stands out from its surroundings.
    """
    one, two = (_standing_out(image, step_mm) for image in (after, before))
    mask = (seen > 0.5).astype(np.uint8)
    none = np.eye(2, 3)
    best = Laid(shift=none, alike=_correlation(one, two, mask))
    small = [
        np.asarray(
            cv2.resize(a, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA),
            np.float32,
        )
        for a in (one, two)
    ]
    small_mask = np.ascontiguousarray(mask[1::2, 1::2])
    if best.alike < PLAINLY:
        best = _by_ends(one, two, mask, best, step_mm)
    # Far at first and on half as fine a picture; then near, on the whole one.
    for images, seen_at, scale, blur, turns, gain in (
        (small, small_mask, 0.5, 5, 40, 3e-4),
        ([one, two], mask, 1.0, 3, 15, 1e-4),
    ):
        moved = best.shift.copy()
        moved[:, 2] *= scale
        found = _enhanced(images[0], images[1], moved, seen_at, blur, turns, gain)
        if found is None:
            continue
        found[:, 2] /= scale
        if _moved_mm(found, one.shape, step_mm) > MOST_MM:
            continue
        alike = _correlation(one, over(two, found), mask)
        if alike > best.alike + LEAST_GAIN:
            best = Laid(shift=found, alike=alike)
    return best


def _by_ends(
    one: NDArray[np.floating],
    two: NDArray[np.floating],
    mask: NDArray[np.uint8],
    best: Laid,
    step_mm: float,
) -> Laid:
    """Move each end of the before photo by some millimetres, and take what fits best.

    A zigzag is alike one line further on, and climbing from where an end was found
    wrong leads there. What does not fit plainly moves nothing.
    """
    rows = one.shape[0]
    found = best
    for toe in ENDS_MM:
        for heel in ENDS_MM:
            moved = np.eye(2, 3)
            moved[1] = 0, 1 + (heel - toe) / step_mm / rows, toe / step_mm
            alike = _correlation(one, over(two, moved), mask)
            if alike > max(found.alike, PLAINLY):
                found = Laid(shift=moved, alike=alike)
    return found


def _enhanced(
    one: Array,
    two: Array,
    shift: Array,
    mask: NDArray[np.uint8],
    blur: int,
    turns: int,
    gain: float,
) -> NDArray[np.float64] | None:
    criteria = (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, turns, gain)
    try:
        _, warp = cv2.findTransformECC(
            one,
            two,
            np.asarray(shift, np.float32),
            cv2.MOTION_AFFINE,
            criteria,
            mask,
            blur,
        )
    except cv2.error:
        # It found no way to come nearer; what was there before stands.
        return None
    return np.asarray(warp, np.float64)


def over(values: Array, shift: Array) -> Array:
    """Take values of the before photo to the samples of the after photo."""
    rows, columns = values.shape
    return np.asarray(
        cv2.warpAffine(
            values.astype(np.float32),
            np.asarray(shift, np.float32),
            (columns, rows),
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
            borderMode=cv2.BORDER_REPLICATE,
        )
    )


def _standing_out(ink: Array, step_mm: float) -> NDArray[np.floating]:
    wide = max(3, round(WIDE_MM / step_mm) | 1)
    clipped = np.clip(ink, -0.3, 1.3).astype(np.float32)
    return clipped - cv2.boxFilter(clipped, -1, (wide, wide))


def _correlation(
    one: NDArray[np.floating], two: NDArray[np.floating], mask: NDArray[np.uint8]
) -> float:
    """Correlate where the after photo still has ink: elsewhere nothing need agree."""
    chosen = (mask > 0) & (cv2.dilate(one, np.ones((5, 5))) > 0.15)
    if chosen.sum() < 100:
        return 0.0
    a, b = one[chosen], two[chosen]
    a, b = a - a.mean(), b - b.mean()
    size = float(np.sqrt((a @ a) * (b @ b)))
    return float(a @ b) / size if size > 0 else 0.0


def _moved_mm(warp: Array, shape: tuple[int, ...], step_mm: float) -> float:
    rows, columns = shape[:2]
    corners = np.array([[0, 0, 1], [columns, 0, 1], [0, rows, 1], [columns, rows, 1]])
    moved = corners @ np.asarray(warp, float).T - corners[:, :2]
    return float(np.hypot(moved[:, 0], moved[:, 1]).max() * step_mm)
