"""What a photo cannot show: glare, deep shadow, and what is neither ink nor metal."""

from __future__ import annotations

import cv2
import numpy as np

from lapping.photo.fields import Array
from lapping.photo.samples import Samples

DARKER = 0.9
"""Log brightness below ink in all channels from which a place is shadow, or no face."""
BRIGHTER, WHITE = 0.45, 0.87
"""Log brightness above metal in all channels from which a place is glare, if it is also
nearly white: metal that was just rubbed is bright too."""
LEAST_MM = 1.5
"""Smaller spots of either are scratches, grains and noise."""


def seen_well(samples: Samples, metal: Array, step: Array | None) -> Array:
    """Give the share of each sample that shows ink or metal; 0 where neither.

    ``metal`` is the log brightness of bare metal, ``step`` from there to full ink,
    where there is any.
    """
    off = samples.log - metal
    glare = (off.min(axis=0) > BRIGHTER) & (samples.log.min(axis=0) > np.log(WHITE))
    dark = np.zeros(glare.shape, np.bool_)
    if step is not None:
        lowest = np.minimum(step, 0.0)
        dark = (off - lowest).max(axis=0) < -DARKER
    across = max(3, round(LEAST_MM / samples.step_mm) | 1)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (across, across))
    lost = np.zeros(glare.shape, np.uint8)
    for spots in (glare, dark):
        lost |= cv2.morphologyEx(spots.astype(np.uint8), cv2.MORPH_OPEN, disc)
    lost = cv2.dilate(lost, disc)
    return np.where(lost > 0, 0.0, samples.seen)
