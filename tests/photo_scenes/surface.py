"""The scribbled face as it glows towards the camera, before and after the strokes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.photo_scenes.colour import light_of
from tests.photo_scenes.fields import blurred, fractal, step, streaks
from tests.photo_scenes.inks import blended
from tests.photo_scenes.lights import Lit, falling, mirrored, shadow_on, shine, sources
from tests.photo_scenes.metal import Skin, fresh_skin, old_skin
from tests.photo_scenes.plot import Plot
from tests.photo_scenes.scene import Array, Light, Scene
from tests.photo_scenes.strokes import ink_laid
from tests.photo_scenes.wear import kept_ink, wear_map

MATT = 0.3
"""The share of light that metal gives back without shine, from its roughness."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Worked:
    """What does not change with light and camera: ink, what is kept, both metals."""

    plot: Plot
    ink: Array
    kept: Array
    wear: Array
    old: Skin
    new: Skin


def worked(scene: Scene, plot: Plot) -> Worked:
    """Scribble the face and rub it."""
    old = old_skin(scene, plot)
    wear = wear_map(scene, plot)
    grain = (old.slope - old.slope.mean()) / (old.slope.std() + 1e-9)
    return Worked(
        plot=plot,
        ink=ink_laid(scene, plot),
        kept=kept_ink(scene, plot, wear, np.asarray(grain, np.float32)),
        wear=wear,
        old=old,
        new=fresh_skin(scene, plot, old),
    )


def glow(
    scene: Scene, work: Worked, light: Light, eye: np.ndarray, *, rubbed: bool
) -> Array:
    """Give the light from each square of the face towards the camera, BGR.

    ``eye`` is where the camera is, told from the middle of the face (right, to the
    heel, up); ``rubbed`` chooses the face after the strokes.
    """
    plot = work.plot
    along = plot.along_mm() - plot.face.length_mm / 2
    across = plot.across_mm() - plot.face.width_mm / 2
    shadow = shadow_on(
        light, along, across, (plot.face.length_mm, plot.face.width_mm), scene.seed
    )
    lit = falling(light, along, across, shadow)
    which = "after" if rubbed else "before"
    room = mirrored(scene, plot, eye, which)
    metal = _bare(work.old, plot, light, lit, eye, room)
    bare, kept = metal, np.ones(plot.shape, np.float32)
    if rubbed:
        kept = work.kept
        fresh = (1 - kept)[..., None]
        cut = _bare(work.new, plot, light, lit, eye, room)
        if scene.wear.swarf:
            cut = cut * _swarf(scene, plot)[..., None]
        bare = np.asarray(metal * (1 - fresh) + cut * fresh, np.float32)
    gloss = shine(light, plot, eye, deg=0.0, rough=(0.2, 0.2), slope=None)
    sheen = 0.03 * (gloss * (1 - shadow[..., None]) + 0.8 * lit.room)
    found = blended(
        bare,
        metal,
        work.ink,
        kept,
        scene.marker,
        lit.falls,
        np.asarray(sheen, np.float32),
        scene.scribble.blend,
    )
    return _openings(_edges(found, scene, light, plot), plot, lit)


def _edges(found: Array, scene: Scene, light: Light, plot: Plot) -> Array:
    """Shade the broken edge: bright towards the light, dark away from it."""
    if not scene.bevel_mm:
        return found
    along, across = plot.along_mm(), plot.across_mm()
    length, width = plot.face.length_mm, plot.face.width_mm
    shade = np.ones(plot.shape, np.float32)
    ways = {"toe": (0, -1), "heel": (0, 1), "left": (-1, 0), "right": (1, 0)}
    far = {
        "toe": along,
        "heel": length - along,
        "left": across,
        "right": width - across,
    }
    for side, way in ways.items():
        tilted = np.array([*way, 1.0]) / np.sqrt(2)
        falls, flat = 0.7 * light.room, 0.7 * light.room
        for at, power in sources(light):
            ray = at / np.linalg.norm(at)
            falls += max(float(ray @ tilted), 0.0) * float(power.mean())
            flat += float(ray[2] * power.mean())
        share = step((scene.bevel_mm - far[side]) * plot.fine + 0.5)
        shade = shade * (1 + (falls / flat - 1) * share)
    return np.asarray(found * shade[..., None], np.float32)


def _swarf(scene: Scene, plot: Plot) -> Array:
    """Give how a film of swarf dims rubbed metal: clouds, drawn out by the strokes."""
    rng = scene.stream("swarf")
    cloud = fractal(rng, plot.shape, 12 * plot.fine, 3)
    drawn = streaks(
        rng,
        plot.shape,
        deg=scene.wear.stroke_deg,
        long_px=25 * plot.fine,
        wide_px=0.6 * plot.fine,
    )
    film = step(0.5 + 0.3 * cloud + 0.25 * drawn)
    return np.asarray(1 - scene.wear.swarf * film, np.float32)


def _bare(
    skin: Skin, plot: Plot, light: Light, lit: Lit, eye: np.ndarray, room: Array
) -> Array:
    glint = shine(light, plot, eye, deg=skin.deg, rough=skin.rough, slope=skin.slope)
    direct = skin.gleam * glint * (1 - lit.shadow[..., None])
    scratch = np.clip(1 + 0.06 * skin.slope, 0.5, 1.5) * room
    metallic = 0.55 * lit.room * scratch[..., None] + MATT * lit.falls + direct
    matt = skin.matt[..., None]
    return np.asarray(
        skin.colour * (metallic * (1 - matt) + 0.75 * lit.falls * matt), np.float32
    )


def _openings(found: Array, plot: Plot, lit: Lit) -> Array:
    """Darken mouth and holes; a little light reaches their far walls."""
    if plot.metal.all():
        return found
    deep = light_of(30, 28, 27) * lit.falls
    wall = blurred(plot.metal, 0.7 * plot.fine)
    # The wall towards the heel is lit more: it leans, being the bed.
    leans = np.clip(np.roll(wall, -round(0.8 * plot.fine), axis=0) - 0.2, 0, 1)
    dark = deep * (0.6 + 2.5 * wall * leans + 0.3 * leans)[..., None]
    metal = blurred(plot.metal, 0.6)[..., None]
    return np.asarray(found * metal + dark * (1 - metal), np.float32)
