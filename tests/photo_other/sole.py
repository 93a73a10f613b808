"""The made-up sole: grooves in the metal, a hand's scribble over it, and its wear.

All of it is drawn on one grid in the frame of the face (rows along from the toe,
columns across from the left), so the truth about the ink is the sum of the very
arrays that the pictures show. Heights are µm below the peaks of the metal, ink is a
share of one ordinary pass of the pen. The numbers are invented to look right.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.face import Face

from .scenes import Scene
from .scribble import scribble

Array = NDArray[np.float32]
Real = NDArray[np.float64]
Rng = np.random.Generator

INK_UM = 1.1
"""How thick one pass of ink lies."""
METALS = {  # reflectance R, G, B straight on, and the share that scatters like paint
    "dark_iron": ((0.30, 0.29, 0.285), 0.10),
    "light_iron": ((0.52, 0.515, 0.50), 0.16),
    "steel": ((0.60, 0.61, 0.62), 0.08),
    "bronze": ((0.70, 0.46, 0.29), 0.10),
    "brass": ((0.84, 0.67, 0.33), 0.09),
}
INKS = {  # what one pass swallows on the way in and out: exp(-k) in R, G, B
    "black": (2.5, 2.6, 2.4),
    "blue": (2.9, 1.7, 0.35),
    "red": (0.12, 2.3, 1.9),
    "green": (2.7, 0.55, 1.5),
    "violet": (1.2, 2.5, 0.55),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sole:
    """The grid of one face before and after the strokes."""

    face: Face
    texel_mm: float
    metal: NDArray[np.bool_]
    ink_before: Array
    ink_after: Array
    worn: Array
    """Share of each spot that the abrasive reached, 0 to 1."""
    groove_um: Array
    scratch_um: Array
    patina: Array
    rivet: Array


def field(rng: Rng, shape: tuple[int, int], along: float, across: float) -> Array:
    """Draw smooth noise of variance one with the given lengths in grid steps."""
    rows = max(4, int(shape[0] / along) + 3)
    columns = max(4, int(shape[1] / across) + 3)
    small = rng.standard_normal((rows, columns)).astype(np.float32)
    # Cubic steps keep the node spacing as the length; /0.7 restores the variance.
    big = cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)
    return np.asarray(big / 0.7, dtype=np.float32)


def make_sole(scene: Scene, texel_mm: float, rng: Rng) -> Sole:
    """Draw the face of the scene with squares of about texel_mm."""
    face = scene.face
    shape = (round(face.length_mm / texel_mm), round(face.width_mm / texel_mm))
    along = ((np.arange(shape[0]) + 0.5) * face.length_mm / shape[0])[:, None]
    across = ((np.arange(shape[1]) + 0.5) * face.width_mm / shape[1])[None, :]
    metal = _metal(face, along, across)
    groove = _grooves(scene, rng, shape, texel_mm, along, across)
    ink = scribble(scene, rng, shape, texel_mm)
    ink *= 0.85 + 0.2 * np.clip(groove, 0, 2)
    greasy = field(rng, shape, 9 / texel_mm, 7 / texel_mm)
    ink *= 1 - 0.85 * _step(greasy, 3.2 - 1.7 * scene.dry, 0.25)
    ink = np.where(metal, np.maximum(ink, 0), 0).astype(np.float32)
    ink[ink < 0.02] = 0
    cut, scratch = _cut(scene, rng, shape, texel_mm, along, across)
    # Ink lies from -groove up to -groove + INK_UM; the abrasive comes down to
    # INK_UM - cut, so what sits in a groove deeper than the cut is left.
    left = np.clip((INK_UM - cut + groove) / INK_UM, 0, 1).astype(np.float32)
    if scene.cut_um == 0:
        left[:] = 1
    lump = np.hypot(
        along - scene.rivet_along * face.length_mm, across - 0.5 * face.width_mm
    )
    rivet = _step(-lump, -4.0, 0.15) * (scene.rivet_um > 0)
    blotch = field(rng, shape, 30 / texel_mm, 14 / texel_mm)
    blotch = blotch + 0.6 * field(rng, shape, 4 / texel_mm, 4 / texel_mm)
    fine = field(rng, shape, 0.6 / texel_mm + 1, 0.6 / texel_mm + 1)
    patina = scene.patina * np.clip(0.55 + 0.35 * blotch + 0.12 * fine, 0, 1.4)
    return Sole(
        face=face,
        texel_mm=texel_mm,
        metal=metal,
        ink_before=ink,
        ink_after=(ink * left).astype(np.float32),
        worn=np.clip(1 - left, 0, 1).astype(np.float32),
        groove_um=groove,
        scratch_um=scratch,
        patina=patina.astype(np.float32),
        rivet=rivet.astype(np.float32),
    )


def _step(value: Array | Real, middle: float, half: float) -> Array:
    share = np.clip((value - middle + half) / (2 * half), 0, 1)
    return np.asarray(share * share * (3 - 2 * share), dtype=np.float32)


def _metal(face: Face, along: Real, across: Real) -> NDArray[np.bool_]:
    metal = np.ones((along.shape[0], across.shape[1]), dtype=np.bool_)
    if face.mouth is not None:
        left, right = face.mouth_sides_mm()
        slot = (along > face.mouth.from_mm) & (along < face.mouth.to_mm)
        metal &= ~(slot & (across > left) & (across < right))
    return metal


def _grooves(
    scene: Scene,
    rng: Rng,
    shape: tuple[int, int],
    step: float,
    along: Real,
    across: Real,
) -> Array:
    """Draw how far below the peaks the metal lies, in µm, by how it was finished."""
    thin = max(1.0, 0.12 / step)
    fine = field(rng, shape, 45 / step, thin) + field(rng, shape, 90 / step, 3 * thin)
    speck = field(rng, shape, 1.3 * thin, 1.3 * thin)
    if scene.finish == "milled":
        far = np.hypot(along - 0.4 * scene.face.length_mm, across + 95.0)
        ridges = np.sin(2 * np.pi * far / 1.3 + 0.4 * field(rng, shape, 60, 60))
        deep = 0.7 + 0.5 * ridges + 0.2 * fine + 0.25 * speck
    elif scene.finish == "crosswise":
        fine = field(rng, shape, thin, 30 / step) + field(
            rng, shape, 3 * thin, 70 / step
        )
        deep = 0.7 + 0.35 * fine + 0.25 * speck
    elif scene.finish == "pitted":
        pits = _step(field(rng, shape, 1.1 / step, 1.1 / step), 2.0, 0.35)
        deep = 0.5 + 0.3 * fine + 0.3 * speck + 7.0 * pits
    elif scene.finish == "stippled":
        coarse = field(rng, shape, 0.7 / step, 0.7 / step)
        deep = 0.8 + 0.4 * speck + 0.45 * coarse
    else:
        deep = 0.7 + 0.28 * fine + 0.35 * speck
    return np.asarray(np.maximum(deep, 0) * scene.groove_um, dtype=np.float32)


def _cut(
    scene: Scene,
    rng: Rng,
    shape: tuple[int, int],
    step: float,
    along: Real,
    across: Real,
) -> tuple[Array, Array]:
    """Give how deep the abrasive reached and the fine scratches it left, in µm."""
    press = _pressure(scene, along[:: max(1, round(2 / step))], across, rng)
    press = np.asarray(cv2.resize(press, (shape[1], shape[0])), dtype=np.float32)
    thin = max(1.0, 0.1 / step)
    lines = field(rng, shape, 28 / step, thin) + 0.6 * field(
        rng, shape, 60 / step, 5 * thin
    )
    # A stray grain bites deeper along its own line, a worn one not at all.
    reach = scene.cut_um * (1 - np.exp(-press / scene.load_um))
    cut = np.where(press > 0, reach * np.exp(0.3 * lines) + 0.15 * scene.groove_um, 0)
    return cut.astype(np.float32), lines.astype(np.float32)


def _pressure(scene: Scene, along: Real, across: Real, rng: Rng) -> Array:
    """Press the shaped face on springy paper, and give how far each spot sinks in, µm.

    The face settles until load and moments about the middle balance: the least of
    mean(sink²)/2 − load · height over the three numbers of its plane.
    """
    x = (2 * along / scene.face.length_mm - 1) + 0 * across
    y = 0 * along + (2 * across / scene.face.width_mm - 1)
    mm_along = along - scene.rivet_along * scene.face.length_mm
    lump = np.exp(
        -0.5 * (mm_along**2 + (across - 0.5 * scene.face.width_mm) ** 2) / 4.5**2
    )
    height = scene.crown_um * (1 - x * x) + scene.across_um * (1 - y * y)
    height = height + scene.twist_um / 2 * x * y + scene.rivet_um * lump
    height = height + scene.ridge_um * np.exp(-0.5 * ((x - scene.ridge_at) / 0.13) ** 2)
    height = height + scene.ripple_um * field(rng, x.shape, 14, x.shape[1] / 3)
    frame = np.stack([np.ones_like(x), x, y], axis=-1).reshape(-1, 3).astype(float)
    z = height.reshape(-1).astype(float)
    pull = scene.load_um * np.array([1.0, 0.0, 0.12 * scene.lean])
    plane = np.array([z.min() - scene.load_um, 0.0, 0.0])

    def cost(q: Real) -> float:
        return float(np.mean(np.maximum(z - frame @ q, 0) ** 2) / 2 + pull @ q)

    for _ in range(60):
        sink = np.maximum(z - frame @ plane, 0)
        touching = frame[sink > 0]
        slope = pull - frame.T @ sink / len(z)
        bend = touching.T @ touching / len(z) + 1e-9 * np.eye(3)
        step = -np.linalg.solve(bend, slope)
        share = 1.0
        while share > 1e-6 and cost(plane + share * step) > cost(plane):
            share /= 2
        plane = plane + share * step
        if np.abs(share * step).max() < 1e-6:
            break
    sink = np.maximum(z - frame @ plane, 0).reshape(x.shape)
    return np.asarray(sink, dtype=np.float32)


def truth(sole: Sole) -> tuple[Real, float]:
    """Give the share of ink rubbed off in each cell, and its mean over metal, in %.

    A cell without metal, or that never had ink, is NaN and left out of the mean; the
    others count by their metal.
    """
    face = sole.face
    sums = [
        cell_sums(part, face)
        for part in (sole.ink_before, sole.ink_after, sole.metal.astype(np.float32))
    ]
    before, after, metal = sums
    with np.errstate(invalid="ignore", divide="ignore"):
        rubbed = np.where((before > 0) & (metal > 0), 1 - after / before, np.nan)
    known = np.isfinite(rubbed)
    share = float(np.sum(rubbed[known] * metal[known]) / np.sum(metal[known]))
    return rubbed, 100 * share


def cell_sums(part: Array, face: Face) -> Real:
    """Add up an array of the face over its cells of about 10 mm."""
    cells = (max(1, round(face.length_mm / 10)), max(1, round(face.width_mm / 10)))
    total = part.astype(np.float64)
    for axis, count in enumerate(cells):
        size = total.shape[axis]
        cell = ((np.arange(size) + 0.5) * count / size).astype(int)
        pick = np.zeros((count, size))
        pick[cell, np.arange(size)] = 1
        total = pick @ total if axis == 0 else total @ pick.T
    return total
