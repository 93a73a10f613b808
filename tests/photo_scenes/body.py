"""The whole view: the face on its body, the body on the bench, and shadows of both."""

from __future__ import annotations

import cv2
import numpy as np

from lapping.face import Face
from tests.photo_scenes.bench import Bench
from tests.photo_scenes.colour import light_of
from tests.photo_scenes.fields import blurred, smooth, step
from tests.photo_scenes.lights import falling, shadow_on, sources
from tests.photo_scenes.optics import Pose
from tests.photo_scenes.plot import Plot
from tests.photo_scenes.scene import Array, Light, Scene

AWAY_MM = 120.0
"""Light on the bench is worked out this far beyond the bench that is drawn."""


def view(
    scene: Scene,
    plot: Plot,
    glow: Array,
    light: Light,
    pose: Pose,
    bench: Bench,
    moved_mm: tuple[float, float],
) -> Array:
    """Give the light that comes to each pixel (BGR).

    ``glow`` is the light from the face's own squares; the face has been put down
    ``moved_mm`` (to the right, to the heel) from the middle of the bench.
    """
    face, deep = scene.face, scene.body_mm
    rays = pose.rays()
    across, along = pose.on_plane(rays, 0.0)
    across_low, along_low = pose.on_plane(rays, deep)
    picture = _bench(scene, light, (across_low, along_low), bench, moved_mm)
    _walls(picture, scene, light, (across, along), (across_low, along_low))
    # How many pixels a millimetre is, where each pixel looks.
    ahead = -pose.eye_mm[2] / rays[2]
    per_mm = (pose.focal_px / np.maximum(ahead, 1.0)).astype(np.float32)
    inside = _inside_mm(face, across, along, scene.round_mm)
    cover = np.clip(0.5 + inside * per_mm, 0.0, 1.0).astype(np.float32)
    high, wide = plot.shape
    squares_per_px = plot.fine / float(np.median(per_mm))
    soft = _prefiltered(glow, squares_per_px)
    seen = cv2.remap(
        soft,
        across * (wide / face.width_mm) - 0.5,
        along * (high / face.length_mm) - 0.5,
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    picture += (seen - picture) * cover[..., None]
    return picture


def _inside_mm(face: Face, across: Array, along: Array, round_mm: float) -> Array:
    """Give how far inside the outline places lie (negative outside)."""
    right = np.abs(across - face.width_mm / 2) - face.width_mm / 2 + round_mm
    heel = np.abs(along - face.length_mm / 2) - face.length_mm / 2 + round_mm
    if not round_mm:
        return np.asarray(-np.maximum(right, heel))
    corner = np.hypot(np.maximum(right, 0), np.maximum(heel, 0))
    return np.asarray(round_mm - corner - np.minimum(np.maximum(right, heel), 0))


def _prefiltered(glow: Array, squares_per_px: float) -> Array:
    return glow if squares_per_px <= 1.15 else blurred(glow, 0.36 * squares_per_px)


def _bench(
    scene: Scene,
    light: Light,
    seen_at: tuple[Array, Array],
    bench: Bench,
    moved_mm: tuple[float, float],
) -> Array:
    """Give the bench as lit, with the shadow of the body on it."""
    face = scene.face
    across, along = seen_at[0] - face.width_mm / 2, seen_at[1] - face.length_mm / 2
    reach = bench.half_mm + AWAY_MM
    coarse = 0.6
    places = np.arange(-reach, reach, 1 / coarse, dtype=np.float32)
    a, c = places[:, None], places[None, :]
    shadow = shadow_on(light, a, c, (face.length_mm, face.width_mm), scene.seed)
    shadow = np.maximum(shadow, _cast(scene, light, a, c))
    falls = falling(light, a, c, shadow).falls
    outside = np.hypot(
        np.maximum(np.abs(a) - face.length_mm / 2, 0),
        np.maximum(np.abs(c) - face.width_mm / 2, 0),
    )
    falls *= (1 - 0.55 * np.exp(-outside / (0.5 * scene.body_mm + 4)))[..., None]
    lit = cv2.remap(
        np.asarray(falls, np.float32),
        ((across + reach) * coarse).astype(np.float32),
        ((along + reach) * coarse).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    top = cv2.remap(
        bench.top,
        ((across + moved_mm[0] + bench.half_mm) * bench.fine - 0.5).astype(np.float32),
        ((along + moved_mm[1] + bench.half_mm) * bench.fine - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT,
    )
    return np.asarray(top * lit, np.float32)


def _cast(scene: Scene, light: Light, along: Array, across: Array) -> Array:
    """Give the share of direct light that the body keeps off the bench."""
    total = np.zeros((along + across).shape, np.float32)
    power = 0.0
    for at, strength in sources(light):
        part = scene.body_mm / (scene.body_mm + at[2])
        to_along = along + (at[1] - along) * part
        to_across = across + (at[0] - across) * part
        hit, _, _ = _through(scene.face, (across, along), (to_across, to_along))
        total += hit * float(strength.mean())
        power += float(strength.mean())
    return blurred(total / power, 3.0) if power else total


def _through(
    face: Face, start: tuple[Array, Array], stop: tuple[Array, Array]
) -> tuple[Array, Array, Array]:
    """Say whether the way from start to stop goes through the outline (told from its
    middle), at which share of the way it goes in, and whether by the left or right."""
    enters = np.zeros((start[0] + start[1]).shape, np.float32)
    leaves = np.ones_like(enters)
    by_edge = np.zeros(enters.shape, bool)
    halves = (face.width_mm / 2, face.length_mm / 2)
    for k, (a, b, half) in enumerate(zip(start, stop, halves, strict=True)):
        run = b - a
        run = np.where(np.abs(run) < 1e-6, np.float32(1e-6), run)
        first, last = (-half - a) / run, (half - a) / run
        goes_in = np.minimum(first, last)
        by_edge = goes_in > 0 if k == 0 else by_edge & (goes_in <= enters)
        enters = np.maximum(enters, goes_in)
        leaves = np.minimum(leaves, np.maximum(first, last))
    return (enters < leaves).astype(np.float32), enters, by_edge


def _walls(
    picture: Array,
    scene: Scene,
    light: Light,
    top: tuple[Array, Array],
    low: tuple[Array, Array],
) -> None:
    """Paint what shows of the body's sides."""
    face = scene.face
    rng = scene.stream("walls")
    off = np.array([face.width_mm / 2, face.length_mm / 2], np.float32)
    start = (top[0] - off[0], top[1] - off[1])
    stop = (low[0] - off[0], low[1] - off[1])
    hit, enters, by_edge = _through(face, start, stop)
    shows = (hit > 0) & (enters > 0)
    if not shows.any():
        return
    deep = enters[shows]
    across = start[0][shows] + (stop[0] - start[0])[shows] * deep
    along = start[1][shows] + (stop[1] - start[1])[shows] * deep
    edge = by_edge[shows]
    facing = np.where(edge, np.sign(across), np.sign(along))
    lit = np.full((len(deep), 3), 0.45 * light.room, np.float32)
    for at, power in sources(light):
        way = at / np.linalg.norm(at)
        straight = np.where(edge, way[0], way[1]) * facing
        lit += np.clip(straight, 0, 1)[:, None].astype(np.float32) * power
    tone = {0: (40, 40, 42), 1: (110, 110, 112), 2: (62, 40, 34)}
    colour = light_of(*tone[int(rng.integers(3))])
    noise = smooth(rng, (64, 1024), (3.0, 2.0))
    run = np.where(edge, along, across)
    mottle = noise[
        np.clip((deep * 63).astype(int), 0, 63), (run * 2.0).astype(int) % 1024
    ]
    shade = (1 + 0.12 * mottle) * (1 - 0.45 * step(deep))
    picture[shows] = colour * lit * shade[:, None]
