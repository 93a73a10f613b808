"""What lies under and beside the plane: boards, cloth, paper, tools, as flat colour.

The bench is a square map around the middle of the face, mirrored on and on beyond its
edge. Colours are shares of light thrown back (R, G, B, linear). Everything is made up.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from .scenes import Scene
from .sole import field

Array = NDArray[np.float32]
Rng = np.random.Generator
STEP_MM = 0.6
SIDE = 1500
"""The map is SIDE × SIDE squares of STEP_MM."""


def make_bench(scene: Scene, rng: Rng) -> Array:
    """Draw the bench of the scene (SIDE, SIDE, 3), rows down from the toe's side."""
    colour = BENCHES[scene.bench](rng)
    for thing in filter(None, scene.beside.split(",")):
        _lay_down(colour, thing, scene, rng)
    return np.asarray(np.clip(colour, 0.004, 0.95), dtype=np.float32)


def _plain(rgb: tuple[float, float, float]) -> Array:
    return np.tile(np.array(rgb, dtype=np.float32), (SIDE, SIDE, 1))


def _grid() -> tuple[Array, Array]:
    at = (np.arange(SIDE, dtype=np.float32) - SIDE / 2) * STEP_MM
    return at[:, None] + 0 * at[None, :], at[None, :] + 0 * at[:, None]


def _turned(u: Array, v: Array, by: float) -> tuple[Array, Array]:
    c, s = float(np.cos(by)), float(np.sin(by))
    return c * u + s * v, c * v - s * u


def _planks(rng: Rng) -> Array:
    v, u = _grid()
    heading = rng.uniform(-0.5, 0.5) + (np.pi / 2 if rng.random() < 0.5 else 0)
    a, b = _turned(u, v, heading)
    wide = rng.uniform(85, 150)
    board = np.floor(b / wide)
    pick = (np.sin(board * 12.9898) * 43758.5453) % 1.0
    warp = field(rng, (SIDE, SIDE), 160, 160) * 5 + field(rng, (SIDE, SIDE), 40, 40)
    rings = np.sin(
        (b + warp + 40 * pick + 3e-4 * (a + 300 * pick) ** 2) * 2 * np.pi / 7.5
    )
    hair = field(rng, (SIDE, SIDE), 2, 2) * 0.03
    base = np.array([0.36, 0.20, 0.095], dtype=np.float32) * rng.uniform(0.7, 1.25)
    tone = (
        0.82
        + 0.3 * pick
        + 0.13 * rings**3
        + hair
        + 0.05 * field(rng, (SIDE, SIDE), 90, 90)
    )
    seam = np.exp(-(((b / wide - np.round(b / wide)) * wide / 0.8) ** 2))
    tone = tone * (1 - 0.75 * seam)
    return np.asarray(tone[..., None] * base, dtype=np.float32)


def _cloth(rng: Rng) -> Array:
    v, u = _grid()
    a, b = _turned(u, v, rng.uniform(-0.4, 0.4))
    weave = np.sin(a * 2 * np.pi / 2.3) * np.sin(b * 2 * np.pi / 2.3)
    base = np.array(
        [(0.16, 0.19, 0.28), (0.42, 0.40, 0.34), (0.30, 0.08, 0.07)][rng.integers(3)]
    )
    checks = (np.abs(a % 46 - 23) < 4).astype(float) + (np.abs(b % 46 - 23) < 4)
    folds = 0.16 * field(rng, (SIDE, SIDE), 190, 260)
    tone = (0.85 + 0.12 * weave + folds) * (1 - 0.22 * checks)
    return np.asarray(np.maximum(tone, 0.1)[..., None] * base, dtype=np.float32)


def _print(colour: Array, rng: Rng, box: tuple[int, int, int, int]) -> None:
    """Print columns of lines and a grey picture or two into the box of the map."""
    top, left, height, width = box
    page = np.full((height, width, 3), 0.72, dtype=np.float32)
    page *= np.array([1.0, 0.985, 0.94], dtype=np.float32)
    for start in range(20, width - 120, 150):
        row = 24
        while row < height - 20:
            if rng.random() < 0.06:
                page[row : row + 90, start : start + 130] *= rng.uniform(0.25, 0.7)
                row += 100
                continue
            at, tall = start, 5 if rng.random() > 0.08 else 10
            while at < start + 130:
                long = int(rng.integers(5, 24))
                ink = rng.random((tall, min(long, start + 132 - at), 1)) < 0.55
                spot = page[row : row + tall, at : at + ink.shape[1]]
                spot *= np.where(ink[: spot.shape[0], : spot.shape[1]], 0.16, 0.8)
                at += long + 4
            row += tall + 5
    colour[top : top + height, left : left + width] = page


def _sheet(rng: Rng) -> Array:
    colour = _planks(rng)
    _print(colour, rng, (130, 150, 1240, 1200))
    return colour


def _mat(rng: Rng) -> Array:
    v, u = _grid()
    colour = (
        _plain((0.035, 0.16, 0.10))
        * (1 + 0.06 * field(rng, (SIDE, SIDE), 3, 3))[..., None]
    )
    lines = (np.abs(u % 10 - 5) > 4.75) | (np.abs(v % 10 - 5) > 4.75)
    colour[lines] = colour[lines] * 0.5 + 0.18
    for _ in range(40):
        start = rng.integers(0, SIDE, 2)
        stop = start + rng.integers(-260, 260, 2)
        ends = [(int(p[0]), int(p[1])) for p in (start, stop)]
        cv2.line(colour, ends[0], ends[1], (0.08, 0.2, 0.15), 1, cv2.LINE_AA)
    return np.asarray(colour, dtype=np.float32)


def _paper(rng: Rng) -> Array:
    fleck = (
        field(rng, (SIDE, SIDE), 2, 2) * 0.008
        + field(rng, (SIDE, SIDE), 300, 300) * 0.015
    )
    return np.asarray(_plain((0.74, 0.73, 0.70)) + fleck[..., None], dtype=np.float32)


def _steel(rng: Rng) -> Array:
    brushed = (
        field(rng, (SIDE, SIDE), 1, 80) * 0.05 + field(rng, (SIDE, SIDE), 60, 60) * 0.06
    )
    tone = 0.24 * (1 + brushed)
    stain = np.clip(field(rng, (SIDE, SIDE), 90, 70) - 1.0, 0, 1) * 0.35
    rgb = np.stack(
        [tone, tone * (1 - 0.35 * stain), tone * (1.02 - 0.6 * stain)], axis=-1
    )
    return np.asarray(rgb, dtype=np.float32)


def _shavings(rng: Rng) -> Array:
    colour = _planks(rng)
    for _ in range(150):
        middle = tuple(int(n) for n in rng.integers(0, SIDE, 2))
        size = (int(rng.integers(10, 60)), int(rng.integers(8, 40)))
        turn, wide = float(rng.uniform(0, 360)), int(rng.integers(8, 26))
        start = float(rng.uniform(0, 360))
        stop = start + float(rng.uniform(120, 330))
        shadow = (middle[0] + 4, middle[1] + 5)
        cv2.ellipse(
            colour,
            shadow,
            size,
            turn,
            start,
            stop,
            (0.07, 0.04, 0.02),
            wide,
            cv2.LINE_AA,
        )
        pale = np.array([0.62, 0.45, 0.26]) * rng.uniform(0.7, 1.15)
        for k in range(4):
            lit = pale * (0.75 + 0.12 * k)
            tint = (float(lit[0]), float(lit[1]), float(lit[2]))
            across = max(1, wide - 5 * k)
            cv2.ellipse(
                colour, middle, size, turn, start, stop, tint, across, cv2.LINE_AA
            )
    return colour


BENCHES = {
    "planks": _planks,
    "cloth": _cloth,
    "sheet": _sheet,
    "mat": _mat,
    "paper": _paper,
    "steel": _steel,
    "shavings": _shavings,
}


def _lay_down(colour: Array, thing: str, scene: Scene, rng: Rng) -> None:
    """Lay one thing beside the plane, with a soft shadow under it."""
    side = 1 if rng.random() < 0.5 else -1
    long = scene.face.length_mm
    gap = scene.face.width_mm / 2 + rng.uniform(14, 26)
    half = {"pen": (68, 7), "rule": (160, 15), "rag": (70, 45)}[thing]
    away = side * (gap + half[1])
    turn = float(np.radians(rng.uniform(-9, 9)))
    middle = np.array([away, rng.uniform(-0.25, 0.25) * long])
    v, u = _grid()
    du, dv = u - middle[0], v - middle[1]
    a = dv * np.cos(turn) + du * np.sin(turn)
    b = du * np.cos(turn) - dv * np.sin(turn)
    if thing == "rag":
        b = b + 5 * np.sin(a / 11) + 3 * np.sin(a / 5.3 + 1)
        a = a + 6 * np.sin(b / 9)
    on = (np.abs(a) < half[0]) & (np.abs(b) < half[1])
    shade = cv2.GaussianBlur(on.astype(np.float32), (0, 0), 7)
    shade = np.roll(shade, (6, 6), axis=(0, 1))
    colour *= (1 - 0.6 * shade)[..., None]
    if thing == "pen":
        barrel = np.sqrt(np.clip(1 - (b / half[1]) ** 2, 0, 1)) * 0.8 + 0.12
        gloss = 0.5 * np.exp(-(((b + 2.5) / 0.9) ** 2))
        cap = a > 20
        tint = np.where(cap[..., None], [0.03, 0.05, 0.30], [0.66, 0.66, 0.64])
        laid = barrel[..., None] * tint + gloss[..., None]
    elif thing == "rule":
        ticks = (np.abs(a % 1.0 - 0.5) > 0.36) & (
            b > half[1] - np.where(a % 10 < 1, 9, 5)
        )
        tone = np.where(ticks, 0.06, 0.42 + 0.1 * np.sin(a / 60))
        laid = tone[..., None] * np.array([1.0, 1.0, 1.02])
    else:
        folds = 0.7 + 0.3 * np.sin(a / 8 + 2 * np.sin(b / 13))
        laid = folds[..., None] * np.array([0.33, 0.10, 0.09])
    colour[on] = laid[on]
