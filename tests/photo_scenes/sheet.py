"""One picture of a scene to look at: both photos, the truth and the answers."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.photo_scenes.scene import Shot

WIDE_PX = 900
CELL_PX = 18
Cells = NDArray[np.float64]


def sheet(
    shot: Shot, answers: dict[str, Cells], corners_px: NDArray[np.float64] | None
) -> NDArray[np.uint8]:
    """Give the after and before photos, then the truth and each answer, toe left.

    Red is rubbed off, blue is ink that stayed, grey is not known. Corners found are
    marked in the photo afterwards, true ones ringed.
    """
    after = shot.after.copy()
    broad = max(2, after.shape[1] // 600)
    for place in shot.after_corners_px:
        cv2.circle(after, _whole(place), 8 * broad, (0, 220, 255), broad)
    if corners_px is not None:
        cv2.polylines(
            after,
            [np.round(corners_px).astype(np.int32)],
            True,
            (255, 0, 255),
            broad,
        )
    maps = {"truth": shot.rubbed, "truth: not to be seen": shot.unknown} | answers
    parts = [_fit(after), _fit(shot.before)]
    parts += [_titled(name, _coloured(cells)) for name, cells in maps.items()]
    wide = max(part.shape[1] for part in parts)
    return np.vstack([_padded(part, wide) for part in parts]).astype(np.uint8)


def _coloured(cells: Cells) -> NDArray[np.uint8]:
    turned = cells.T[::-1]
    level = np.nan_to_num(turned)[..., None]
    mixed = (1 - level) * (190, 90, 40) + level * (50, 60, 215)
    mixed = np.where(np.isnan(turned)[..., None], 128, mixed)
    return np.asarray(np.kron(mixed, np.ones((CELL_PX, CELL_PX, 1))), np.uint8)


def _titled(name: str, picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    head = np.full((22, max(picture.shape[1], 330), 3), 255, np.uint8)
    cv2.putText(head, name, (2, 16), cv2.FONT_HERSHEY_SIMPLEX, 0.5, (0, 0, 0), 1)
    return np.vstack([head, _padded(picture, head.shape[1])])


def _fit(picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    share = WIDE_PX / picture.shape[1]
    size = (WIDE_PX, round(picture.shape[0] * share))
    return np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)


def _padded(picture: NDArray[np.uint8], wide: int) -> NDArray[np.uint8]:
    room = ((0, 2), (0, wide - picture.shape[1]), (0, 0))
    return np.pad(picture, room, constant_values=255)


def _whole(place: NDArray[np.float64]) -> tuple[int, int]:
    return round(float(place[0])), round(float(place[1]))
