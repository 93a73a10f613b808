"""Photos of a face with corner cards, made from the printed sheet, places known.

The cards are cut from a drawing of the very page that goes to the printer, laid round a
face in its plane, and seen through a lens without distortion. Invented throughout.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.printed.corner_sheet import corner_sheet

Array = NDArray[np.float64]
PX_PER_MM = 8
ROUND_MM = 60.0
CARD_MM, OUT_MM = 50.0, 38.0
"""A card's sides, and how much of it lies outside the face: measured on the page."""


@dataclass(frozen=True)
class CardPhoto:
    """A photo, where the corners truly are, and the way from millimetres to pixels."""

    picture: NDArray[np.uint8]
    corners_px: Array
    to_picture: Array

    def off_mm(self, corners_px: Array) -> Array:
        """Say how far found corners lie from the true ones on the face."""
        back = np.linalg.inv(self.to_picture)
        found, true = (
            cv2.perspectiveTransform(np.asarray(c)[None], back)[0]
            for c in (corners_px, self.corners_px)
        )
        return np.linalg.norm(found - true, axis=1)


@lru_cache
def printed_page() -> NDArray[np.uint8]:
    """Draw the A4 page at 8 pixels a millimetre."""
    drawn = io.BytesIO()
    corner_sheet("A4").savefig(drawn, format="png", dpi=25.4 * PX_PER_MM)
    page = cv2.imdecode(np.frombuffer(drawn.getvalue(), np.uint8), cv2.IMREAD_COLOR)
    return np.asarray(page, dtype=np.uint8)


@lru_cache
def cards_on_page() -> tuple[tuple[str, tuple[int, int, int, int]], ...]:
    """Find the four cards on the page by their black squares, as a person would."""
    grey = cv2.cvtColor(printed_page(), cv2.COLOR_BGR2GRAY)
    _, _, stats, _ = cv2.connectedComponentsWithStats(np.uint8(grey < 100))
    wide = stats[:, cv2.CC_STAT_WIDTH]
    big = stats[(np.abs(wide - 28 * PX_PER_MM) < 5) & (stats[:, 4] > 10_000)]
    assert len(big) == 4
    middle = (big[:, :2] + big[:, 2:4] / 2).mean(axis=0)
    found = []
    for x, y, w, h, _ in big.tolist():
        toe, left = y + h / 2 < middle[1], x + w / 2 < middle[0]
        # 5 mm of white outside the mark, then the edge of the card.
        edge = 5 * PX_PER_MM
        x0 = x - edge if left else x + w + edge - int(CARD_MM * PX_PER_MM)
        y0 = y - edge if toe else y + h + edge - int(CARD_MM * PX_PER_MM)
        name = f"{'toe' if toe else 'heel'}-{'left' if left else 'right'}"
        side = int(CARD_MM * PX_PER_MM)
        found.append((name, (x0, y0, side, side)))
    return tuple(found)


def lay_out(
    length_mm: float,
    width_mm: float,
    seed: int,
    *,
    cards: tuple[str, ...] = ("toe-left", "toe-right", "heel-right", "heel-left"),
    slips: Array | None = None,
    printed_at: float = 1.0,
) -> NDArray[np.uint8]:
    """Lay face and cards on a bench, seen square from above, toe up.

    ``cards`` say which card lies at each corner, "" for none; ``slips`` (4, 3) how far
    each one is off, along and across in mm, and turned in degrees.
    """
    rng = np.random.default_rng(seed)
    s, around = PX_PER_MM, ROUND_MM
    tall, wide = int((length_mm + 2 * around) * s), int((width_mm + 2 * around) * s)
    grain = rng.normal(0, 16, (tall // 50 + 2, wide // 5 + 2, 3)).astype(np.float32)
    bench = cv2.resize(grain, (wide, tall)) + rng.integers(70, 170, 3)
    scene = np.clip(bench, 0, 255).astype(np.uint8)
    top, left = int(around * s), int(around * s)
    metal = scene[top : top + int(length_mm * s), left : left + int(width_mm * s)]
    metal[:] = rng.integers(100, 180)
    for _ in range(60):
        start, stop = rng.uniform(0, 1, (2, 2)) * metal.shape[1::-1]
        cv2.line(metal, *(tuple(map(int, p)) for p in (start, stop)), (40, 30, 30), 24)
    where = dict(cards_on_page())
    slips = np.zeros((4, 3)) if slips is None else slips
    corners = [(0.0, 0.0), (0.0, width_mm), (length_mm, width_mm), (length_mm, 0.0)]
    outward = [(-1, -1), (-1, 1), (1, 1), (1, -1)]
    for corner, out, name, slip in zip(corners, outward, cards, slips, strict=True):
        if not name:
            continue
        x, y, w, h = where[name]
        card = printed_page()[y : y + h, x : x + w]
        toe, left_one = name.startswith("toe"), name.endswith("left")
        # The bracket corner on the card, from its own upper left, in mm.
        bracket = (OUT_MM if toe else CARD_MM - OUT_MM,
                   OUT_MM if left_one else CARD_MM - OUT_MM)  # fmt: skip
        turn = np.radians(slip[2])
        c, n = np.cos(turn) * printed_at, np.sin(turn) * printed_at
        # Page pixels (x across, y along) about the bracket corner, on to the scene.
        spin = np.array([[c, n], [-n, c]])
        at = np.array([corner[1] + slip[1] + around, corner[0] + slip[0] + around]) * s
        shift = at - 0.5 - spin @ (np.array([bracket[1], bracket[0]]) * s - 0.5)
        matrix = np.column_stack([spin, shift])
        # Paper only where the card is: the notch shows the face.
        whole = np.full((h, w), 255, np.uint8)
        notch_y = slice(int((bracket[0] + 3) * s), None) if toe else slice(
            None, int((bracket[0] - 3) * s))  # fmt: skip
        notch_x = slice(int((bracket[1] + 3) * s), None) if left_one else slice(
            None, int((bracket[1] - 3) * s))  # fmt: skip
        whole[notch_y, notch_x] = 0
        size = (wide, tall)
        laid = cv2.warpAffine(card, matrix, size, flags=cv2.INTER_AREA)
        over = cv2.warpAffine(whole, matrix, size, flags=cv2.INTER_NEAREST) > 0
        scene[over] = np.maximum(laid[over], 20)
        assert out
    return scene


def photograph(
    scene: NDArray[np.uint8],
    length_mm: float,
    width_mm: float,
    seed: int,
    *,
    size: tuple[int, int] = (1600, 1200),
    turned_deg: float = 0.0,
) -> CardPhoto:
    """See a laid-out face through a tilted lens: uneven light, blur, noise, JPEG."""
    rng = np.random.default_rng(seed)
    wide, tall = size
    focal = rng.uniform(0.7, 1.3) * max(size)
    a, b, c = *np.radians(rng.uniform(-25, 25, 2)), np.radians(turned_deg)
    about_x = np.array(
        [[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]]
    )
    about_y = np.array(
        [[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]]
    )
    about_z = np.array(
        [[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]]
    )
    turn = about_x @ about_y @ about_z
    half = np.array([width_mm, length_mm]) / 2
    reach = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (half + 45)
    for distance in np.geomspace(100, 5000, 400):
        seen = np.column_stack([reach, np.zeros(4)]) @ turn.T + [0, 0, distance]
        flat = focal * seen[:, :2] / seen[:, 2:]
        if (seen[:, 2] > 0).all() and (np.abs(flat) < np.array(size) / 2).all():
            break
    lens = np.array([[focal, 0, wide / 2 - 0.5], [0, focal, tall / 2 - 0.5], [0, 0, 1]])
    plane = np.column_stack([turn[:, 0], turn[:, 1], [0, 0, distance]])
    centred = np.array([[1, 0, -half[0]], [0, 1, -half[1]], [0, 0, 1.0]])
    from_mm = lens @ plane @ centred
    s = PX_PER_MM
    to_mm = np.array([[1 / s, 0, 0.5 / s - ROUND_MM], [0, 1 / s, 0.5 / s - ROUND_MM],
                      [0, 0, 1]])  # fmt: skip
    twice = np.array([[2, 0, 0.5], [0, 2, 0.5], [0, 0, 1]])
    big = cv2.warpPerspective(scene, twice @ from_mm @ to_mm, (2 * wide, 2 * tall))
    photo = cv2.resize(big, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    photo = cv2.GaussianBlur(photo, (0, 0), rng.uniform(0.5, 1.5))
    photo *= np.linspace(0.7, 1.1, wide, dtype=np.float32)[None, :, None]
    photo += rng.normal(0, 5, photo.shape).astype(np.float32)
    photo = np.clip(photo, 0, 255).astype(np.uint8)
    _, coded = cv2.imencode(".jpg", photo, [cv2.IMWRITE_JPEG_QUALITY, 80])
    corners = np.array([[0, 0], [width_mm, 0], [width_mm, length_mm], [0, length_mm]])
    return CardPhoto(
        np.asarray(cv2.imdecode(coded, cv2.IMREAD_COLOR), dtype=np.uint8),
        cv2.perspectiveTransform(corners[None].astype(np.float64), from_mm)[0],
        from_mm,
    )
