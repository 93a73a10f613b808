"""What makes a photo of a scribble doubtful, said in sentences."""

from __future__ import annotations

import numpy as np

from lapping.photo.fields import Array
from lapping.photo.samples import Samples

SHARP, STEEPEST = 0.6, 0.98
"""Ink to metal within 1.7 mm, at this quantile of all samples, is a sharp line's edge;
a pen's own edge is sharper than a sample."""
MUCH_GLARE = 0.15


def of_light(now: Samples) -> list[str]:
    """Say that glare hides much of the metal."""
    if now.clipped <= MUCH_GLARE:
        return []
    return [
        f"glare covers {100 * now.clipped:.0f} % of the metal and hides what is under "
        "it; turn the plane or the lamp and take the photo again"
    ]


def of_ink(ink: Array, faint: bool, samples: Samples) -> list[str]:
    """Say that ink (1 is full) is faint, or that its edges are blurred."""
    said = []
    if faint:
        said.append(
            "the ink is too faint to be told from the metal surely; scribble thicker"
        )
    steep = np.hypot(*np.gradient(ink))[samples.seen > 0.5] / samples.step_mm
    if steep.size and float(np.quantile(steep, STEEPEST)) < SHARP:
        said.append(
            "the photo is blurred: the scribble's lines have no sharp edges; hold the "
            "phone still and let it focus on the metal"
        )
    return said
