"""Bare metal: its colour, its scratches and how shiny they are.

Colours and roughnesses are estimates by eye, not measured values.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tests.photo_scenes.colour import light_of
from tests.photo_scenes.fields import fractal, smooth, step, streaks
from tests.photo_scenes.plot import Plot
from tests.photo_scenes.scene import Array, MetalKind, Scene, Triple

Finish = Literal["along", "across", "arcs", "any"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What a metal looks like: display colour, scratches and shine.

    ``brightens`` is how much brighter the paper leaves it (in display values),
    ``rough`` is the spread of the shine along and across the scratches (as the slope of
    the facets), ``gleam`` how strong it is, ``grain`` how deep the scratches mark.
    """

    colour: Triple
    finish: Finish
    rough: tuple[float, float]
    gleam: float = 0.35
    grain: float = 1.0
    coarse_mm: float = 0.14
    cloud: float = 0.06
    brightens: float = 1.06
    rust: float = 0.0
    tarnish: float = 0.0
    tarnish_colour: Triple = (96, 84, 72)


KINDS: dict[MetalKind, Kind] = {
    "ground iron": Kind(colour=(168, 168, 170), finish="along", rough=(0.14, 0.34)),
    "lapped iron": Kind(
        colour=(176, 177, 180), finish="any", rough=(0.16, 0.22), gleam=0.3, grain=0.6
    ),
    "dark iron": Kind(
        colour=(108, 106, 104),
        finish="along",
        rough=(0.2, 0.34),
        gleam=0.25,
        cloud=0.1,
        brightens=1.28,
    ),
    "rusty iron": Kind(
        colour=(138, 132, 126),
        finish="any",
        rough=(0.24, 0.3),
        gleam=0.2,
        cloud=0.12,
        rust=0.34,
        brightens=1.18,
    ),
    "patinated iron": Kind(
        colour=(138, 132, 124),
        finish="along",
        rough=(0.2, 0.32),
        gleam=0.25,
        cloud=0.1,
        tarnish=0.55,
        brightens=1.14,
    ),
    "milled iron": Kind(
        colour=(158, 158, 158),
        finish="arcs",
        rough=(0.12, 0.38),
        gleam=0.3,
        grain=1.5,
        coarse_mm=0.45,
    ),
    "ground steel": Kind(
        colour=(192, 194, 198), finish="across", rough=(0.12, 0.36), gleam=0.4
    ),
    "polished steel": Kind(
        colour=(200, 202, 206),
        finish="along",
        rough=(0.07, 0.15),
        gleam=0.5,
        grain=0.5,
        coarse_mm=0.1,
    ),
    "brushed steel": Kind(
        colour=(186, 187, 190), finish="along", rough=(0.1, 0.4), gleam=0.4, grain=1.3
    ),
    "bronze": Kind(
        colour=(206, 168, 112), finish="along", rough=(0.12, 0.28), gleam=0.4
    ),
    "dull bronze": Kind(
        colour=(168, 132, 88),
        finish="any",
        rough=(0.2, 0.28),
        gleam=0.25,
        cloud=0.1,
        tarnish=0.4,
        brightens=1.15,
        tarnish_colour=(112, 84, 56),
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Skin:
    """One state of the metal: colour and tilt of the scratches for each square.

    ``slope`` has deviation about 1; ``deg`` is how the scratches run; ``matt`` is the
    share of light that comes back without shine, for rust.
    """

    colour: Array
    slope: Array
    deg: float
    rough: tuple[float, float]
    gleam: float
    matt: Array


def old_skin(scene: Scene, plot: Plot) -> Skin:
    """Give the metal as it was before the strokes."""
    kind = KINDS[scene.metal]
    rng = scene.stream("metal")
    shape = plot.shape
    slope, deg = _scratches(kind, plot, rng)
    cloud = fractal(rng, shape, 22 * plot.fine, 4)
    pits = np.clip(fractal(rng, shape, 1.0 * plot.fine, 2) - 2.1, 0, 1)
    shade = 1 + kind.cloud * cloud + 0.05 * kind.grain * slope - 0.35 * pits
    colour = light_of(*kind.colour) * np.clip(shade, 0.2, 2.0)[..., None]
    matt = np.zeros(shape, np.float32)
    if kind.tarnish:
        film = step(0.5 + 0.35 * fractal(rng, shape, 45 * plot.fine, 4))
        film = (kind.tarnish * film)[..., None]
        colour = colour * (1 - film) + light_of(*kind.tarnish_colour) * film
        matt = 0.4 * film[..., 0]
    if kind.rust:
        spots = fractal(rng, shape, 16 * plot.fine, 5)
        limit = float(np.quantile(spots, 1 - kind.rust))
        matt = 0.85 * step((spots - limit) * 1.6)
        tone = np.clip(0.7 + 0.25 * smooth(rng, shape, (2.2 * plot.fine,) * 2), 0.2, 2)
        rust = light_of(124, 80, 52) * tone[..., None]
        colour = colour * (1 - matt[..., None]) + rust * matt[..., None]
    colour = _marked(colour, scene, plot)
    return Skin(
        colour=np.asarray(colour, np.float32),
        slope=slope * kind.grain,
        deg=deg,
        rough=kind.rough,
        gleam=kind.gleam,
        matt=np.asarray(matt, np.float32),
    )


def fresh_skin(scene: Scene, plot: Plot, old: Skin) -> Skin:
    """Give the metal where the paper has just cut it: brighter, scratched anew."""
    rng = scene.stream("fresh")
    deg = scene.wear.stroke_deg + float(rng.normal(0, 3))
    new = streaks(
        rng, plot.shape, deg=deg, long_px=60 * plot.fine, wide_px=0.13 * plot.fine
    )
    kind = KINDS[scene.metal]
    bright = light_of(*(min(255.0, kind.brightens * c + 6) for c in kind.colour))
    cleaned = bright * (1 + 0.05 * new[..., None])
    # The paper takes the top of rust and tarnish only.
    stays = (0.55 * old.matt)[..., None]
    return Skin(
        colour=np.asarray(cleaned * (1 - stays) + old.colour * stays, np.float32),
        slope=0.9 * new + 0.45 * old.slope,
        deg=deg,
        rough=(0.12, 0.3),
        gleam=kind.gleam * 1.15,
        matt=0.55 * old.matt,
    )


def _scratches(kind: Kind, plot: Plot, rng: np.random.Generator) -> tuple[Array, float]:
    fine = plot.fine
    wide, long = kind.coarse_mm * fine, 70 * fine
    if kind.finish == "arcs":
        return _arcs(kind, plot, rng), 0.0
    deg = {"along": 90.0, "across": 0.0, "any": 90.0}[kind.finish]
    deg += float(rng.normal(0, 2))
    found = streaks(rng, plot.shape, deg=deg, long_px=long, wide_px=wide)
    second = streaks(
        rng, plot.shape, deg=deg + 3, long_px=18 * fine, wide_px=2.5 * wide
    )
    found = 0.8 * found + 0.5 * second
    if kind.finish == "any":
        for turn in (35.0, -40.0, 85.0):
            found += 0.8 * streaks(
                rng, plot.shape, deg=deg + turn, long_px=long / 3, wide_px=wide
            )
        found /= 1.6
    return np.asarray(found, np.float32), deg


def _arcs(kind: Kind, plot: Plot, rng: np.random.Generator) -> Array:
    """Give the arcs a broad cutter leaves as it walks along the face."""
    along, across = plot.along_mm(), plot.across_mm()
    radius = plot.face.width_mm * rng.uniform(0.8, 1.3)
    off = across - plot.face.width_mm * rng.uniform(0.3, 0.7)
    walked = along + np.sqrt(np.maximum(radius**2 - off**2, 1.0))
    table = np.convolve(rng.standard_normal(8192), np.ones(3) / 1.7, "same")
    at = walked / kind.coarse_mm
    found = np.interp(at % 8000, np.arange(8192), table)
    ridge = np.sin(walked / 1.9 * 2 * np.pi)
    return np.asarray(0.8 * found + 0.5 * ridge, np.float32)


def _marked(colour: Array, scene: Scene, plot: Plot) -> Array:
    """Add rivets flush with the metal, and dings."""
    rng = scene.stream("marks")
    along, across = plot.along_mm(), plot.across_mm()
    size = np.array([plot.face.length_mm, plot.face.width_mm])
    shade = np.ones(plot.shape, np.float32)
    for _ in range(scene.rivets):
        a, c = rng.uniform(0.15, 0.85, 2) * size
        radius = rng.uniform(3.0, 4.5)
        far = np.hypot(along - a, across - c)
        turn = rng.uniform(0, np.pi)
        slot = np.abs((along - a) * np.cos(turn) + (across - c) * np.sin(turn))
        shade[np.abs(far - radius) < 0.18] *= 0.25
        shade[(slot < 0.45) & (far < radius - 0.4)] *= 0.2
        shade[far < radius] *= 0.93
    for _ in range(scene.dings):
        a, c = rng.uniform(0.03, 0.97, 2) * size
        radius = rng.uniform(0.4, 1.1)
        lean = (along - a + 0.6 * (across - c)) / radius
        dent = np.exp(-((((along - a) ** 2 + (across - c) ** 2) / radius**2) ** 2))
        shade *= np.clip(1 + 0.7 * dent * np.clip(lean, -1, 1), 0.1, 2)
    return np.asarray(colour * shade[..., None], np.float32)
