"""Where the face bore, and what that leaves of the ink."""

from __future__ import annotations

import cv2
import numpy as np

from tests.photo_scenes.fields import even, fitted, fractal, step, streaks
from tests.photo_scenes.plot import Plot
from tests.photo_scenes.scene import Array, Scene

COARSE_MM = 0.5
RAGGED = 0.16


def wear_map(scene: Scene, plot: Plot) -> Array:
    """Give how hard each square was rubbed: 0 not at all, 1 until the ink is gone."""
    wear = scene.wear
    if wear.pattern in ("none", "all", "even"):
        level = {"none": 0.0, "all": 1.0, "even": wear.share}[wear.pattern]
        return np.full(plot.shape, level, np.float32)
    coarse = plot.coarse(COARSE_MM)
    proud = _proud(scene, plot, coarse)
    bears = (proud > np.quantile(proud, 1 - wear.share)).astype(np.uint8)
    inside = cv2.distanceTransform(bears, cv2.DIST_L2, 5)
    outside = cv2.distanceTransform(1 - bears, cv2.DIST_L2, 5)
    far_mm = (inside - outside) * COARSE_MM
    rubbed = step(fitted(far_mm / wear.edge_mm + 0.5, plot.shape))
    return np.asarray(wear.least + (wear.most - wear.least) * rubbed, np.float32)


def _proud(scene: Scene, plot: Plot, shape: tuple[int, int]) -> Array:
    """Give which places meet the paper first; only the order counts."""
    rng = scene.stream("wear")
    length, width = plot.face.length_mm, plot.face.width_mm
    along, across = plot.along_mm(shape), plot.across_mm(shape)
    v, u = 2 * along / length - 1, 2 * across / width - 1
    edge = np.minimum(
        np.minimum(along, length - along), np.minimum(across, width - across)
    )
    place = rng.uniform(0.2, 0.8, 2) * (length, width)
    sense = rng.choice([-1.0, 1.0])
    land = length * 0.3 if plot.face.mouth is None else plot.face.mouth.from_mm
    shapes: dict[str, Array] = {
        "twist": sense * u * v,
        "crown": -(v**2) - 0.15 * u**2,
        "hollow": v**2 + 0.1 * u**2,
        "rim": -edge / width * 4,
        "left": -u + 0.15 * v,
        "right": u - 0.15 * v,
        "toe": -v + 0.2 * u * sense,
        "heel": v + 0.2 * u * sense,
        "patchy": 0 * u * v,
        "spot": -np.hypot(along - place[0], across - place[1]) / width * 2,
        "ripple": np.sin(along / length * 2 * np.pi * 3.4 + u * 0.8),
        "strip": -np.abs(u - 0.25 * sense) + 0 * v,
        "ends and land": -np.minimum(
            np.minimum(along, length - along), np.abs(along - land + 6)
        )
        / width
        + 0 * u,
    }
    cloud = fractal(rng, shape, (60 if scene.wear.pattern == "patchy" else 30), 3)
    ragged = 1.0 if scene.wear.pattern == "patchy" else RAGGED
    return np.asarray(shapes[scene.wear.pattern] + ragged * cloud, np.float32)


def kept_ink(scene: Scene, plot: Plot, wear: Array, grain: Array) -> Array:
    """Give the share of its ink that each square keeps.

    The paper cuts in lines along the strokes and leaves the ink that lies deep in older
    scratches (``grain``, deviation 1); the mean over some mm follows ``wear``.
    """
    rng = scene.stream("rubbing")
    cuts = streaks(
        rng,
        plot.shape,
        deg=scene.wear.stroke_deg + 4,
        long_px=30 * plot.fine,
        wide_px=0.18 * plot.fine,
    )
    fleck = fractal(rng, plot.shape, 1.2 * plot.fine, 2)
    held = scene.wear.held
    deep = 0.4 + 0.6 * held
    mixed = 0.7 * cuts + deep * grain + 0.5 * fleck
    last = even(mixed / np.sqrt(0.7**2 + deep**2 + 0.5**2))
    soft = 1.6 - 1.35 * held
    # How deep the paper has to cut for the mean to be the wear: all evenly spread
    # ``last`` averaged, from a depth that takes nothing to one that takes all.
    depths = np.linspace(0, 1 + soft, 257)
    takes = np.clip((depths[:, None] - np.linspace(0, 1, 513)) / soft, 0, 1).mean(
        axis=1
    )
    depth = np.interp(wear, takes, depths)
    return np.asarray(1 - np.clip((depth - last) / soft, 0.0, 1.0), np.float32)
