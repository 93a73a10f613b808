"""Light on the face: lamp, window and room, the shine of scratches, and shadows.

The shine is a lobe about the half-way direction, wider across the scratches than along
them (the model of Ward 1992, without its normalising terms); each scratch tilts it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from tests.photo_scenes.colour import bgr
from tests.photo_scenes.fields import fitted, fractal, step
from tests.photo_scenes.plot import Plot
from tests.photo_scenes.scene import Array, Light, Scene

COARSE_MM = 2.5
TILT = 0.16
"""Slope of a scratch of one deviation."""
SLOWLY = 8
"""Light is worked out at one place in so many, each way."""
FAR_MM = 1500.0
"""How far off the window is."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lit:
    """Light on each square: all that falls there, the room's part, and shadow."""

    falls: Array
    room: Array
    shadow: Array


def sources(light: Light) -> Iterator[tuple[np.ndarray, Array]]:
    """Give points of light: where (right, to the heel, up; mm) and how much (BGR)."""
    if light.lamp:
        yield np.array(light.lamp_at_mm), light.lamp * bgr(light.lamp_tint)
    if light.window:
        parts = 5
        for i in range(parts):
            for lift in (-9.0, 9.0):
                turn = light.window_from_deg + light.window_wide_deg * (
                    (i + 0.5) / parts - 0.5
                )
                azimuth, up = map(math.radians, (turn, light.window_up_deg + lift))
                way = np.array(
                    [
                        math.cos(azimuth) * math.cos(up),
                        math.sin(azimuth) * math.cos(up),
                        math.sin(up),
                    ]
                )
                share = light.window / parts / 2
                yield way * FAR_MM, share * bgr(light.window_tint)


def falling(light: Light, along: Array, across: Array, shadow: Array) -> Lit:
    """Give the light at places told from the middle of the face, mm."""
    # Without its shadows light changes slowly: a few places are enough.
    few = (max(2, along.size // SLOWLY), max(2, across.size // SLOWLY))
    heel, right = fitted(along, (few[0], 1)), fitted(across, (1, few[1]))
    some = np.zeros((*few, 3), np.float32)
    for at, power in sources(light):
        away = np.sqrt((right - at[0]) ** 2 + (heel - at[1]) ** 2 + at[2] ** 2)
        straight = float(np.linalg.norm(at))
        some += ((straight / away) ** 3)[..., None] * power
    direct = fitted(some, shadow.shape)
    reach = max(float(np.abs(along).max()), float(np.abs(across).max()), 1.0)
    lean = 1 + light.slope * (0.8 * along - 0.6 * across) / reach
    room = light.room * bgr(light.room_tint) * lean[..., None]
    room = room * (1 - 0.35 * shadow[..., None])
    return Lit(
        falls=np.asarray(direct * (1 - shadow[..., None]) + room, np.float32),
        room=np.asarray(room, np.float32),
        shadow=shadow,
    )


def shine(
    light: Light,
    plot: Plot,
    eye: np.ndarray,
    *,
    deg: float,
    rough: tuple[float, float],
    slope: Array | None,
) -> Array:
    """Give what the facets mirror of lamp and window, per square, as BGR light.

    ``eye`` is where the camera is (right, to the heel, up), from the middle of the
    face. ``slope`` tilts the facets across the scratches.
    """
    coarse = plot.coarse(COARSE_MM)
    along = plot.along_mm(coarse) - plot.face.length_mm / 2
    across = plot.across_mm(coarse) - plot.face.width_mm / 2
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    total = np.zeros((*coarse, 3), np.float32)
    weight = np.zeros(coarse, np.float32)
    tilt = np.zeros(coarse, np.float32)
    view = _way(eye, along, across)
    for at, power in sources(light):
        way = _way(at, along, across)
        half = way + view
        run = (half[..., 0] * c + half[..., 1] * s) / half[..., 2]
        side = (-half[..., 0] * s + half[..., 1] * c) / half[..., 2]
        lobe = np.exp(-((run / rough[0]) ** 2) - (side / rough[1]) ** 2)
        # Scratches of very different tilt fill in what a pure bell would leave dark.
        lobe = lobe + 0.06 * np.exp(-(run**2 + side**2) / 0.5)
        lobe = lobe / (4 * math.pi * rough[0] * rough[1])
        lobe = lobe / np.maximum(way[..., 2] * view[..., 2], 0.1)
        fall = way[..., 2] / max(float(at[2] / np.linalg.norm(at)), 0.05)
        part = (lobe * fall).astype(np.float32)
        total += part[..., None] * power
        weight += part * power.mean()
        tilt += part * power.mean() * side / rough[1] ** 2
    even = np.stack([fitted(total[..., k], plot.shape) for k in range(3)], axis=-1)
    if slope is None:
        return np.asarray(even, np.float32)
    lean = fitted(2 * TILT * tilt / np.maximum(weight, 1e-6), plot.shape)
    glint = np.exp(np.clip(lean * slope, -1.3, 1.0))
    return np.asarray(even * glint[..., None], np.float32)


def mirrored(scene: Scene, plot: Plot, eye: np.ndarray, which: str) -> Array:
    """Give how bright the part of the room is that each square mirrors."""
    rng = scene.stream("room " + which)
    coarse = plot.coarse(COARSE_MM)
    wide = max(plot.face.width_mm, 60) / COARSE_MM
    room = 1 + 0.14 * fractal(rng, coarse, 2.2 * wide, 2)
    along = plot.along_mm(coarse) - plot.face.length_mm / 2
    across = plot.across_mm(coarse) - plot.face.width_mm / 2
    # The phone and the head behind it stand where the ceiling would be.
    far = np.hypot((along - eye[1]) / 70, (across - eye[0]) / 45)
    dark = 0.35 * step(1.5 - far)
    return fitted(np.asarray(np.clip(room - dark, 0.3, 2.0), np.float32), plot.shape)


def shadow_on(
    light: Light, along: Array, across: Array, size_mm: tuple[float, float], seed: int
) -> Array:
    """Give how much of lamp and window is kept off, at places from the middle."""
    length, width = size_mm
    rng = np.random.default_rng([seed, 77])
    soft = light.shade_soft_mm
    zero = 0 * along + 0 * across
    if light.shade == "none":
        return np.asarray(zero, np.float32)
    if light.shade == "hard edge":
        turn = rng.uniform(0.2, 1.3)
        edge = along * math.sin(turn) + across * math.cos(turn)
        far = edge - rng.uniform(-0.15, 0.2) * length
    elif light.shade == "phone":
        a, c = (along - 0.12 * length), (across + 0.1 * width)
        turn = rng.uniform(-0.5, 0.5)
        p = a * math.cos(turn) + c * math.sin(turn)
        q = c * math.cos(turn) - a * math.sin(turn)
        far = np.minimum(75 - np.abs(p), 38 - np.abs(q))
    elif light.shade == "bars":
        far = 11 * np.sin((along + 0.4 * across) / 62 * 2 * math.pi)
    else:
        # An arm with a fist at its end, in from one side.
        from_side = rng.choice([-1.0, 1.0])
        a = along - rng.uniform(-0.25, 0.25) * length
        c = across * from_side
        fist = 42 - np.hypot(a, c - 0.2 * width)
        arm = np.minimum(24 - np.abs(a - 0.25 * c), c - 0.1 * width)
        far = np.maximum(fist, arm)
    return np.asarray(light.shade_depth * step(far / soft + 0.5) + zero, np.float32)


def _way(at: np.ndarray, along: Array, across: Array) -> Array:
    """Give unit directions from each place to a point."""
    right, heel = at[0] - across + 0 * along, at[1] - along + 0 * across
    up = np.full_like(right, at[2])
    found = np.stack([right, heel, up], axis=-1)
    return np.asarray(found / np.linalg.norm(found, axis=-1, keepdims=True), np.float32)
