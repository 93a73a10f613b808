"""Classes of colour, and how unlike parts of a picture are by them."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_picture import Colours, resized

Array = NDArray[np.float64]
Labels = NDArray[np.intp]

CLASSES = 16
COLOUR_PX = 320
CHROMA = 2.0
"""How much colour counts against light and dark, which shadows change."""
BORDER_SHARE = 0.07
FEW = 4.0
TRIES, ROUNDS, CLOSE = 1, 8, 0.5
LEARNT = 2000
SEED = 1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Classes:
    """The class of each pixel of a picture that is ``share`` of the working size."""

    labels: Labels
    centres: Colours
    share: float

    def at(self, x: Array, y: Array) -> Labels:
        """Give the class at working places, CLASSES outside the picture."""
        high, wide = self.labels.shape
        shift = 0.5 * self.share + 0.5
        right = np.rint(np.clip(x * self.share + shift, 0, wide + 1)).astype(np.intp)
        down = np.rint(np.clip(y * self.share + shift, 0, high + 1)).astype(np.intp)
        framed = np.pad(self.labels, 1, constant_values=CLASSES)
        found: Labels = framed.ravel()[down * (wide + 2) + right]
        return found

    def counts(self, x: Array, y: Array, part: Labels, parts: int) -> Array:
        """Count the classes (n, parts, CLASSES) at places (n, m) inside the picture.

        ``part`` (m) says which part each place belongs to.
        """
        many = len(x)
        row = np.arange(many)[:, None] * parts + part
        counted = np.bincount(
            (row * (CLASSES + 1) + self.at(x, y)).ravel(),
            minlength=many * parts * (CLASSES + 1),
        )
        shaped = counted.reshape(many, parts, CLASSES + 1)[..., :CLASSES]
        return shaped.astype(np.float64)


def colour_classes(colours: Colours) -> Classes:
    """Sort the picture's colours into classes."""
    weights = np.array([1.0, CHROMA, CHROMA], np.float32)
    share = min(1.0, COLOUR_PX / max(colours.shape[:2]))
    small = resized(colours, _scaled(colours, share)) * weights
    return _sorted(small, small.shape[1] / colours.shape[1])


def class_of(colours: Colours, classes: Classes) -> Labels:
    """Give the colour class of colours (..., 3)."""
    weights = np.array([1.0, CHROMA, CHROMA], np.float32)
    return _nearest(colours * weights, classes.centres)


def off_border(classes: Classes) -> Colours:
    """Say of each pixel how far its class is one that the picture's border lacks."""
    labels = classes.labels
    rim = max(1, int(BORDER_SHARE * max(labels.shape)))
    border = np.ones(labels.shape, dtype=bool)
    border[rim:-rim, rim:-rim] = False
    outer = np.bincount(labels[border], minlength=CLASSES) + 1.0
    inner = np.bincount(labels[~border], minlength=CLASSES) + 1.0
    outer, inner = outer / outer.sum(), inner / inner.sum()
    likely: Colours = (inner / (inner + outer)).astype(np.float32)[labels]
    return likely


def unlike(one: Array, other: Array, unknown: float) -> Array:
    """Say how unlike two counts of classes are, 0 to 1 (Bhattacharyya's measure)."""
    many, few = one.sum(axis=-1), other.sum(axis=-1)
    same = np.sqrt(one * other).sum(axis=-1) / np.sqrt(many * few + 1e-9)
    result: Array = np.where((many > FEW) & (few > FEW), 1 - same, unknown)
    return result


def _scaled(colours: Colours, share: float) -> tuple[int, int]:
    high, wide = colours.shape[:2]
    return max(1, round(high * share)), max(1, round(wide * share))


def _sorted(seen: Colours, share: float) -> Classes:
    # The same picture gives the same classes.
    cv2.setRNGSeed(SEED)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, ROUNDS, CLOSE)
    # Every so many pixels are enough to learn from, a step that no row repeats.
    every = max(1, seen.shape[0] * seen.shape[1] // LEARNT) | 1
    values = np.ascontiguousarray(seen.reshape(-1, seen.shape[2])[::every])
    start = np.zeros((len(values), 1), np.int32)
    _, _, found = cv2.kmeans(values, CLASSES, start, stop, TRIES, cv2.KMEANS_PP_CENTERS)
    centres = np.asarray(found, dtype=np.float32)
    return Classes(labels=_nearest(seen, centres), centres=centres, share=share)


def _nearest(values: Colours, centres: Colours) -> Labels:
    flat = values.reshape(-1, values.shape[-1])
    away = (-2 * centres) @ flat.T + (centres**2).sum(axis=1)[:, None]
    # Class by class: several times as fast as argmin over so short an axis.
    least, nearest = away[0], np.zeros(len(flat), dtype=np.intp)
    for one in range(1, len(centres)):
        closer = away[one] < least
        nearest[closer] = one
        least = np.minimum(least, away[one])
    return nearest.reshape(values.shape[:-1])
