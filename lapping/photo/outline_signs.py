"""What speaks for a quad being the face: edges along it, and colours in and out.

Each sign is a number per quad; `score` weighs them. The weights were fitted on drawn
photos (the share of photos whose best quad is the face), and no sign is a condition.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_classes import Classes, unlike
from lapping.photo.outline_lines import inside, middle_of
from lapping.photo.outline_picture import Edges
from lapping.photo.outline_quads import Quads

Array = NDArray[np.float64]

SIDES, ENDS = [1, 3], [0, 2]
OFFS = (-2, -1, 0, 1, 2)
MARGIN, COLOUR_WIDE, TEXTURE_WIDE = 0.02, 0.16, 0.3
"""Strips beside an edge: how far off it, and how wide, over the face's width."""
UNKNOWN = 0.3

WEIGHTS = {
    "edge on the sides": 3.40,
    "least edge on the sides": 1.60,
    "edge on the ends": 3.32,
    "least edge on the ends": 2.44,
    "colour step on the sides": 2.02,
    "least colour step on the sides": 1.49,
    "colour step on the ends": 3.68,
    "least colour step on the ends": 3.50,
    "texture step on the sides": 2.18,
    "least texture step on the sides": 1.59,
    "texture step on the ends": 1.61,
    "least texture step on the ends": 1.08,
    "change outside": 12.77,
    "outside unlike the whole": 2.18,
    "least outside unlike the whole": 3.36,
    "ring unlike the whole": 1.79,
    "pose": -0.74,
    "sides run on": -6.26,
    "ends run on": -3.02,
    "in the picture": 4.57,
    "least in the picture": 1.04,
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """A photo as it is looked at: edges and classes, working shape and scale."""

    fine: Edges
    colour: Classes
    texture: Classes
    shape: tuple[int, int]
    scale: float


def signs(quads: Quads, seen: Seen, ratio: float) -> dict[str, Array]:
    """Give every sign (n) for every quad."""
    corners = quads.corners + middle_of(seen.shape)
    edge, share = _edge(corners, seen, 0.03, 0.97, 32)
    before, _ = _edge(corners, seen, -0.12, -0.02, 12)
    after, _ = _edge(corners, seen, 1.02, 1.12, 12)
    ends_before, _ = _edge(corners, seen, -0.5, -0.05, 16)
    ends_after, _ = _edge(corners, seen, 1.05, 1.5, 16)
    colour = _Strips(corners, seen.colour, ratio)
    texture = _Strips(corners, seen.texture, ratio)
    whole = colour.counts((0, 1), (0, 1), (12, 40))
    beside, beyond, inner = [], [], []
    rough = []
    for side in range(4):
        out = colour.strip(side, MARGIN, COLOUR_WIDE)
        beside.append(unlike(colour.strip(side, -COLOUR_WIDE, -MARGIN), out, UNKNOWN))
        farther = colour.strip(side, COLOUR_WIDE, 2 * COLOUR_WIDE)
        beyond.append(unlike(out, farther, UNKNOWN))
        inner.append(unlike(out, whole, UNKNOWN))
        rough.append(
            unlike(
                texture.strip(side, -TEXTURE_WIDE, 0),
                texture.strip(side, 0, TEXTURE_WIDE),
                UNKNOWN,
            )
        )
    found: dict[str, Array] = {}
    for name, by_side in (
        ("edge", edge),
        ("colour step", np.stack(beside, axis=1)),
        ("texture step", np.stack(rough, axis=1)),
    ):
        for part, which in (("sides", SIDES), ("ends", ENDS)):
            found[f"{name} on the {part}"] = by_side[:, which].mean(axis=1)
            found[f"least {name} on the {part}"] = by_side[:, which].min(axis=1)
    found["change outside"] = np.stack(beyond, axis=1).mean(axis=1)
    found["outside unlike the whole"] = np.stack(inner, axis=1).mean(axis=1)
    found["least outside unlike the whole"] = np.stack(inner, axis=1).min(axis=1)
    ring = colour.ring(2 * COLOUR_WIDE)
    found["ring unlike the whole"] = unlike(whole, ring, UNKNOWN)
    found["pose"] = np.sqrt(quads.cost)
    found["sides run on"] = (before + after)[:, SIDES].mean(axis=1) / 2
    found["ends run on"] = (ends_before + ends_after)[:, ENDS].mean(axis=1) / 2
    found["in the picture"] = share.mean(axis=1)
    found["least in the picture"] = share.min(axis=1)
    return found


def score(found: dict[str, Array]) -> Array:
    """Weigh the signs to one number per quad."""
    total: Array = np.sum([WEIGHTS[name] * found[name] for name in WEIGHTS], axis=0)
    return total


def _edge(
    corners: Array, seen: Seen, start: float, stop: float, many: int
) -> tuple[Array, Array]:
    """Give how much edge there is along each side (n, 4), and the share in view."""
    way = np.roll(corners, -1, axis=1) - corners
    unit = way / np.linalg.norm(way, axis=2, keepdims=True)
    normal = np.stack([unit[..., 1], -unit[..., 0]], axis=2)[:, :, None]
    at = np.linspace(start, stop, many)[None, None, :, None]
    places = corners[:, :, None] + at * way[:, :, None]
    within = inside(places, seen.shape)
    flat = (len(corners), -1, 2)
    normals = np.broadcast_to(normal, places.shape).reshape(flat)
    clear = np.zeros(places.shape[:3]).reshape(len(corners), -1)
    for off in OFFS:
        here = seen.fine.across((places + off * normal).reshape(flat), normals)
        clear = np.maximum(clear, here * (1 - 0.05 * abs(off)))
    clear = clear.reshape(within.shape) * within
    count = within.sum(axis=2)
    return clear.sum(axis=2) / np.maximum(count, 1), count / many


class _Strips:
    """Strips of a face, told in shares of its width from a side."""

    def __init__(self, corners: Array, classes: Classes, ratio: float) -> None:
        unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float32)
        self._to_picture = np.array(
            [
                cv2.getPerspectiveTransform(unit, one.astype(np.float32))
                for one in corners
            ]
        )
        self._classes, self._ratio = classes, ratio

    def counts(
        self,
        across: tuple[float, float],
        along: tuple[float, float],
        many: tuple[int, int],
    ) -> Array:
        """Count classes in a rectangle of the face, of which 0 to 1 is the whole."""
        u = across[0] + (np.arange(many[0]) + 0.5) / many[0] * (across[1] - across[0])
        v = along[0] + (np.arange(many[1]) + 0.5) / many[1] * (along[1] - along[0])
        x, y = (grid.ravel() for grid in np.meshgrid(u, v))
        spots = np.stack([x, y, np.ones_like(x)])
        seen = self._to_picture @ spots
        places = np.moveaxis(seen[:, :2] / seen[:, 2:], 1, 2)
        return self._classes.counts(places)

    def strip(self, side: int, low: float, high: float) -> Array:
        """Count in a strip along a side, from ``low`` to ``high`` outside it."""
        if side in SIDES:
            across = (1 + low, 1 + high) if side == 1 else (-high, -low)
            return self.counts(across, (0, 1), (4, 36))
        low, high = low / self._ratio, high / self._ratio
        along = (-high, -low) if side == 0 else (1 + low, 1 + high)
        return self.counts((0, 1), along, (14, 4))

    def ring(self, wide: float) -> Array:
        """Count in a ring round the face."""
        long = wide / self._ratio
        return (
            self.counts((-wide, 0), (-long, 1 + long), (4, 36))
            + self.counts((1, 1 + wide), (-long, 1 + long), (4, 36))
            + self.counts((0, 1), (-long, 0), (14, 4))
            + self.counts((0, 1), (1, 1 + long), (14, 4))
        )
