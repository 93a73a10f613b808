"""What the ink does to the light that the metal gives back.

The densities are estimates by eye for alcohol markers, not measured values.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.photo_scenes.colour import bgr, light_of
from tests.photo_scenes.scene import Array, Blend, Marker, Triple

DISPLAY = 1 / 2.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Ink:
    """One marker: how much one full pass dims red, green and blue (natural logarithm,
    there and back), its own colour where it lies thick, and the tint of its gloss."""

    dims: Triple
    body: Triple
    gloss: Triple = (1.0, 1.0, 1.0)


INKS: dict[Marker, Ink] = {
    "black": Ink(dims=(2.9, 2.8, 2.6), body=(18, 17, 20), gloss=(1.05, 0.95, 1.05)),
    "blue": Ink(dims=(2.9, 1.9, 0.55), body=(14, 24, 60), gloss=(1.15, 0.85, 0.9)),
    "red": Ink(dims=(0.25, 2.4, 1.9), body=(70, 12, 14), gloss=(0.95, 1.05, 0.9)),
    "green": Ink(dims=(2.4, 0.75, 1.6), body=(10, 46, 26), gloss=(1.1, 0.9, 1.0)),
    "purple": Ink(dims=(1.3, 2.5, 0.7), body=(44, 16, 56), gloss=(1.0, 1.05, 0.85)),
    "brown": Ink(dims=(1.0, 1.9, 2.7), body=(50, 28, 14)),
}


def inked(metal: Array, ink: Array, marker: Marker, lit: Array, sheen: Array) -> Array:
    """Give the light from metal under that much ink, not rubbed.

    ``lit`` is the light that falls on it and ``sheen`` what a glossy film gives back.
    """
    kind = INKS[marker]
    dims = np.exp(-ink[..., None] * bgr(kind.dims))
    cover = 1 - np.exp(-2.0 * ink[..., None])
    through = metal * dims
    body = light_of(*kind.body) * lit * cover
    return np.asarray(through + body + sheen * bgr(kind.gloss) * cover, np.float32)


def blended(
    bare: Array,
    metal: Array,
    ink: Array,
    kept: Array,
    marker: Marker,
    lit: Array,
    sheen: Array,
    blend: Blend,
) -> Array:
    """Give the light where the share ``kept`` of the ink is still there.

    ``bare`` is the light from the metal as rubbed and ``metal`` as it was under the
    ink. "areal": that share of the area keeps all of its ink. "density": the ink is
    that much thinner. "display": in between as display values go, which is neither.
    """
    share = kept[..., None]
    if blend == "density":
        under = bare * (1 - share) + metal * share
        return inked(under, ink * kept, marker, lit, sheen)
    whole = inked(metal, ink, marker, lit, sheen)
    if blend == "areal":
        return np.asarray(bare * (1 - share) + whole * share, np.float32)
    mixed = (
        np.power(np.maximum(bare, 0), DISPLAY) * (1 - share)
        + np.power(np.maximum(whole, 0), DISPLAY) * share
    )
    return np.asarray(np.power(mixed, 1 / DISPLAY), np.float32)
