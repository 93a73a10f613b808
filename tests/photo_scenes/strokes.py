"""The marker: zigzag lines as a hand draws them, and how much ink they leave."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import cv2
import numpy as np

from tests.photo_scenes.fields import blurred, smooth, streaks
from tests.photo_scenes.plot import Plot
from tests.photo_scenes.scene import Array, Scene, Scribble

SHIFT = 4
REACH_MM = 130.0
"""A hand draws no longer line than this in one go."""
OVER = 0.55
"""A line over ink adds this share of what it adds to bare metal."""
Line = np.ndarray
"""Places of one line, (n, 2): across and along, mm."""


def ink_laid(scene: Scene, plot: Plot) -> Array:
    """Give how much ink lies on each square, 1 being one full pass of the marker."""
    rng = scene.stream("strokes")
    scribble = scene.scribble
    ink = np.zeros(plot.shape, np.float32)
    courses = {"crossed": (28.0, -32.0), "along": (90.0,), "slanted": (0.0,)}
    for deg in courses.get(scribble.course, (0.0,)):
        lean = deg + scribble.slant_deg
        lines = (
            _loops(scribble, plot, rng)
            if scribble.course == "loops"
            else _zigzag(scribble, plot, lean, rng)
        )
        for line in lines:
            _draw(ink, line, scribble, plot, rng)
        ink *= _streaky(scribble, plot, lean, rng)
    ink *= np.clip(1 + 0.12 * smooth(rng, plot.shape, (9 * plot.fine,) * 2), 0.6, 1.5)
    return np.asarray(ink * scribble.coat * plot.metal, np.float32)


def _streaky(
    scribble: Scribble, plot: Plot, deg: float, rng: np.random.Generator
) -> Array:
    """Give how the tip of the marker skips, in streaks along its lines."""
    hair = streaks(
        rng, plot.shape, deg=deg, long_px=14 * plot.fine, wide_px=0.25 * plot.fine
    )
    patch = smooth(rng, plot.shape, (12 * plot.fine, 12 * plot.fine))
    skips = np.clip(0.5 * hair + 0.3 * patch - 0.3, 0.0, 1.0)
    return np.asarray(1 - np.clip(scribble.dry * (0.25 + 1.2 * skips), 0, 0.95))


def _zigzag(
    scribble: Scribble, plot: Plot, deg: float, rng: np.random.Generator
) -> Iterator[Line]:
    face = plot.face
    middle = np.array([face.width_mm / 2, face.length_mm / 2])
    angle = math.radians(deg)
    ahead = np.array([math.cos(angle), math.sin(angle)])
    aside = np.array([-ahead[1], ahead[0]])
    reach = abs(face.width_mm * aside[0]) + abs(face.length_mm * aside[1])
    pitch = scribble.line_mm + scribble.gap_mm
    # How far a line slants towards the next: none is a comb, all is a saw.
    saw = rng.uniform(0.1, 0.9) * min(pitch, 2.2 * scribble.gap_mm + 0.3)
    bow = rng.uniform(-0.02, 0.02)
    off, forward = -reach / 2 - pitch * rng.uniform(0.2, 0.8), True
    while off < reach / 2 + pitch:
        off += pitch * float(np.clip(rng.normal(1, 0.12), 0.6, 1.5))
        start = middle + aside * off
        margin = scribble.margin_mm + rng.normal(0, 0.8)
        span = _inside(start, ahead, face.width_mm, face.length_mm, margin)
        forward = not forward
        if span is None or rng.uniform() < scribble.missed:
            continue
        for low, high in _reaches(*span, rng):
            yield _line(start, ahead, aside, (low, high), saw, bow, forward, rng)


def _reaches(
    low: float, high: float, rng: np.random.Generator
) -> Iterator[tuple[float, float]]:
    """Part a long line into as many goes as a hand needs."""
    goes = max(1, math.ceil((high - low) / REACH_MM))
    ends = np.linspace(low, high, goes + 1)
    ends[1:-1] += rng.normal(0, 5, goes - 1)
    for a, b in pairwise(ends):
        yield (a - rng.uniform(0, 3) * (a > low), b + rng.uniform(0, 3) * (b < high))


def _inside(
    start: Line, ahead: Line, width_mm: float, length_mm: float, margin: float
) -> tuple[float, float] | None:
    """Give from where to where a straight line stays on the face."""
    low, high = -np.inf, np.inf
    for place, way, size in zip(start, ahead, (width_mm, length_mm), strict=True):
        if abs(way) < 1e-9:
            if not margin <= place <= size - margin:
                return None
            continue
        ends = sorted(((margin - place) / way, (size - margin - place) / way))
        low, high = max(low, ends[0]), min(high, ends[1])
    return (low, high) if high - low > 2 else None


def _line(
    start: Line,
    ahead: Line,
    aside: Line,
    span: tuple[float, float],
    saw: float,
    bow: float,
    forward: bool,
    rng: np.random.Generator,
) -> Line:
    length = span[1] - span[0]
    count = max(5, round(length / 3))
    t = np.linspace(0, 1, count)
    wobble = np.convolve(rng.normal(0, 0.35, count + 6), np.ones(7) / 7, "valid")
    slant = saw * (t - 0.5) * (1 if forward else -1)
    arc = bow * length * (1 - (2 * t - 1) ** 2)
    off = slant + arc + 2 * wobble
    run = span[0] + length * t
    return np.asarray(start + np.outer(run, ahead) + np.outer(off, aside))


def _loops(scribble: Scribble, plot: Plot, rng: np.random.Generator) -> Iterator[Line]:
    """Give coils down the face, in as many bands as the width needs."""
    face = plot.face
    bands = max(1, round(face.width_mm / 38))
    pitch = 1.35 * (scribble.line_mm + scribble.gap_mm)
    for band in range(bands):
        middle = (band + 0.5) * face.width_mm / bands
        radius = face.width_mm / bands / 2 - scribble.margin_mm - scribble.line_mm / 2
        turn = 0.0
        while turn * pitch < face.length_mm:
            size = radius * rng.uniform(0.92, 1.04)
            t = np.linspace(turn, turn + 0.52, 26)
            along = t * pitch + 0.55 * size * np.sin(2 * np.pi * t)
            yield np.column_stack([middle + size * np.cos(2 * np.pi * t), along])
            turn += 0.5


def _draw(
    ink: Array, line: Line, scribble: Scribble, plot: Plot, rng: np.random.Generator
) -> None:
    """Add one line to the ink, wetter at its start."""
    fine = plot.fine
    broad = max(2, round(scribble.line_mm * rng.uniform(0.88, 1.1) * fine))
    places = line * fine - 0.5
    room = broad + 4
    low = np.maximum(np.floor(places.min(axis=0)).astype(int) - room, 0)
    high = np.ceil(places.max(axis=0)).astype(int) + room
    high = np.minimum(high, np.array(plot.shape[::-1]))
    if (high <= low).any():
        return
    mask = np.zeros((high[1] - low[1], high[0] - low[0]), np.uint8)
    points = np.round((places - low) * 2**SHIFT).astype(int)
    wet = np.linspace(rng.uniform(0.92, 1.0), rng.uniform(0.75, 0.95), len(line))
    wet += np.convolve(rng.normal(0, 0.06, len(line) + 4), np.ones(5) / 5, "valid")
    shades = np.clip(wet * 210, 60, 255).astype(int)
    for a, b, shade in zip(points[:-1], points[1:], shades, strict=False):
        cv2.line(mask, a, b, int(shade), broad, cv2.LINE_AA, SHIFT)
    laid = blurred(mask.astype(np.float32) / 210, 0.1 * fine)
    # Ink draws to the border of a line as it dries.
    laid *= 1 + 0.35 * np.clip(1 - blurred(laid, broad / 5), 0, 1)
    part = ink[low[1] : high[1], low[0] : high[0]]
    part += laid * np.where(part > 0.1, OVER, 1.0)
