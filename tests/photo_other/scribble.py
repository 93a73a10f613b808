"""A hand scribbling with a marker: paths in mm, nibs, pressure, loops and gaps."""

from __future__ import annotations

from itertools import pairwise

import cv2
import numpy as np
from numpy.typing import NDArray

from .scenes import Scene

Array = NDArray[np.float32]
Path = NDArray[np.float64]
"""Points (n, 3): along mm, across mm, pressure 0 to 1."""
SUB = 16  # cv2 draws to sixteenths of a pixel with shift=4


def scribble(
    scene: Scene, rng: np.random.Generator, shape: tuple[int, int], step_mm: float
) -> Array:
    """Lay the ink of the whole scribble, one ordinary pass of the pen being 1."""
    ink = np.zeros(shape, dtype=np.float32)
    for path in _paths(scene, rng):
        _lay(ink, path, scene, rng, step_mm)
    return ink


def _paths(scene: Scene, rng: np.random.Generator) -> list[Path]:
    long, wide = scene.face.length_mm, scene.face.width_mm
    if scene.scrawl == "lengthwise":
        flat = _zigzag(rng, wide, long, scene.pitch_mm)
        return [path[:, [1, 0, 2]] for path in flat]
    if scene.scrawl == "crossed":
        one = _zigzag(rng, long, wide, scene.pitch_mm * 1.4)
        two = _zigzag(rng, wide, long, scene.pitch_mm * 1.4)
        return one + [path[:, [1, 0, 2]] for path in two]
    if scene.scrawl == "loops":
        return [_loops(rng, long, wide, scene.pitch_mm)]
    if scene.scrawl == "lines":
        return _lines(rng, long, wide, scene.pitch_mm)
    return _zigzag(rng, long, wide, scene.pitch_mm)


def _zigzag(
    rng: np.random.Generator, go: float, sweep: float, pitch: float
) -> list[Path]:
    """Sweep to and fro while going on, the pen lifted now and then."""
    paths: list[Path] = []
    points: list[tuple[float, float, float]] = []
    at, side, press = pitch * 0.4, 0, 1.0
    slant = float(rng.normal(0, 0.10))
    while at < go + 0.3 * pitch:
        gain = pitch * float(np.clip(rng.normal(1, 0.2), 0.5, 1.8))
        start = rng.normal(0.03, 0.03) * sweep
        stop = sweep * (1 - rng.normal(0.03, 0.03))
        bow = rng.normal(1.2, 0.6) * sweep / 60
        press = float(np.clip(0.7 * press + 0.3 * rng.normal(1, 0.35), 0.45, 1.35))
        s = np.linspace(0, 1, max(8, int(sweep / 1.5)))
        across = start + (stop - start) * (s if side == 0 else 1 - s)
        along = at + gain / 2 * s + slant * (across - sweep / 2)
        along = (
            along
            + bow * (1 - (2 * s - 1) ** 2)
            + 0.12 * np.cumsum(rng.normal(0, 1, len(s)))
        )
        force = press * (1 - 0.25 * np.exp(-(((s - 0.5) / 0.3) ** 2)))
        points += list(zip(along, across, force, strict=True))
        # The hand turns round in a small loop, pressing a little harder there.
        turn = np.linspace(-np.pi / 2, np.pi / 2, 9)[1:-1]
        out = 1 if side == 0 else -1
        radius = gain / 4
        points += [
            (
                along[-1] + radius * (1 + np.sin(a)),
                across[-1] + out * radius * np.cos(a),
                press * 1.2,
            )
            for a in turn
        ]
        at, side = at + gain, 1 - side
        if rng.random() < 0.13:
            paths.append(np.array(points))
            points = []
            at += pitch * float(rng.uniform(0.2, 0.9))
    if points:
        paths.append(np.array(points))
    return paths


def _loops(rng: np.random.Generator, long: float, wide: float, pitch: float) -> Path:
    """Write one long row of flat e-shaped loops from toe to heel."""
    turns = long / pitch
    t = np.linspace(0, 2 * np.pi * turns, int(turns * 90))
    size = 0.47 * wide * (1 + 0.05 * np.sin(t / 7.3 + rng.uniform(0, 6)))
    along = pitch * t / (2 * np.pi) + 0.55 * pitch * np.sin(t) + 0.4 * np.sin(t / 11.0)
    across = wide / 2 - size * np.cos(t) + rng.normal(0, 0.5)
    force = 0.85 + 0.2 * np.sin(t + 1) + 0.1 * np.sin(t / 5.1)
    return np.stack([along, across, force], axis=1)


def _lines(
    rng: np.random.Generator, long: float, wide: float, pitch: float
) -> list[Path]:
    """Draw separate slanting strokes, each fading as the pen lifts."""
    paths = []
    for at in np.arange(-0.2 * wide, long + 0.2 * wide, pitch):
        s = np.linspace(0, 1, 50)
        across = wide * (-0.03 + 1.06 * s) + rng.normal(0, 1.0)
        along = at + (0.35 * wide) * (s - 0.5) + rng.normal(0, 0.8) + 1.5 * s * s
        force = np.clip(1.1 - 0.5 * s**4 + rng.normal(0, 0.12), 0.4, 1.3)
        paths.append(np.stack([along, across, force + 0 * s], axis=1))
    return paths


def _lay(
    ink: Array, path: Path, scene: Scene, rng: np.random.Generator, step_mm: float
) -> None:
    """Add one path to the ink, pass by pass, so that crossings lie double."""
    turns = np.flatnonzero(np.diff(np.sign(np.diff(path[:, 1]))) != 0) + 1
    if scene.scrawl == "lengthwise" or len(turns) > 4 * len(path) / 10:
        turns = np.arange(60, len(path), 60)
    ends = [0, *[int(t) for t in turns], len(path) - 1]
    for begin, end in pairwise(ends):
        part = path[begin : end + 1]
        if len(part) < 2:
            continue
        _lay_pass(ink, part, scene, rng, step_mm)


def _lay_pass(
    ink: Array, part: Path, scene: Scene, rng: np.random.Generator, step_mm: float
) -> None:
    room = scene.nib_mm + 2
    low = np.maximum(np.floor((part[:, :2].min(0) - room) / step_mm), 0).astype(int)
    high = np.minimum(np.ceil((part[:, :2].max(0) + room) / step_mm), ink.shape).astype(
        int
    )
    if np.any(high - low < 2):
        return
    mask = np.zeros(tuple(high - low), dtype=np.uint8)
    spots = np.round(((part[:, :2] / step_mm) - low - 0.5) * SUB).astype(int)
    for i in range(len(part) - 1):
        move = part[i + 1, :2] - part[i, :2]
        force = float(part[i, 2])
        width = scene.nib_mm * (0.8 + 0.2 * force)
        if scene.tip == "chisel":
            aim = np.arctan2(move[0], move[1]) - np.radians(scene.nib_deg)
            width = max(0.28 * scene.nib_mm, width * abs(float(np.sin(aim))))
        cv2.line(
            mask,
            (int(spots[i, 1]), int(spots[i, 0])),
            (int(spots[i + 1, 1]), int(spots[i + 1, 0])),
            int(np.clip(force * 180, 30, 255)),
            max(1, round(width / step_mm)),
            cv2.LINE_AA,
            4,
        )
    laid = cv2.GaussianBlur(mask.astype(np.float32) / 180, (0, 0), 0.12 / step_mm + 0.3)
    # Wet ink creeps to the rim of its stroke and dries there a little thicker.
    wide = cv2.GaussianBlur(laid, (0, 0), 0.5 / step_mm)
    laid = laid * (1 + 0.35 * np.clip(laid - wide, -0.4, 0.6))
    if scene.dry:
        # A drying felt leaves streaks along the stroke and lets go towards its end.
        grain = np.asarray(rng.standard_normal(mask.shape), dtype=np.float32)
        much = part[-1, :2] - part[0, :2]
        long = 5.0 / step_mm
        blur = (long, 0.7) if abs(much[1]) > abs(much[0]) else (0.7, long)
        drawn = cv2.GaussianBlur(grain, (0, 0), sigmaX=blur[0], sigmaY=blur[1])
        lines = np.asarray(drawn, dtype=np.float32) / (float(drawn.std()) + 1e-6)
        laid = laid * np.clip(1 - scene.dry * (0.45 + 0.55 * lines), 0.0, 1.2)
    ink[low[0] : high[0], low[1] : high[1]] += laid
