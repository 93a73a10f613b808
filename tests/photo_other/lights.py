"""Lamps, windows and a hand in the way: what reaches the face and the bench."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from .camera import Camera
from .scenes import Scene

Array = NDArray[np.float32]
Real = NDArray[np.float64]
MAP_MM = 4.0
MAP_SIDE = 260
"""Shadow maps are MAP_SIDE squares of MAP_MM around the middle of the face."""
COUNT = 5
"""A lamp is COUNT × COUNT points for its shadows."""
Where = tuple[float, float, float, float, tuple[float, float, float]]
HAND_MM = 150.0
"""How high above the bench the hand hangs."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lamp:
    """A bright patch: where, how big (half sizes along x and y), colour times power."""

    place_mm: Real
    half_mm: tuple[float, float]
    reach_mm: float
    """How far from the middle of the face, where its power is as told."""
    colour: Array
    on_face: Array
    on_bench: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Room:
    """All light in one picture."""

    lamps: tuple[Lamp, ...]
    around: Array
    wave: tuple[float, float]
    near_bench: Array
    """Share of the room's light that reaches the bench beside the body."""


WARM, COOL, WHITE = (1.0, 0.72, 0.43), (0.78, 0.92, 1.12), (1.0, 0.96, 0.9)
WINDOW = (1500, -500, 1050, 420, COOL)
KINDS: dict[str, tuple[tuple[float, float, float], list[tuple[Where, float]]]] = {
    # light from all around (R G B); then lamps: to the right in the picture, towards
    # its foot, up, half size, all in mm, colour; and how strong
    "even": (
        (1.0, 1.02, 1.1),
        [((300, -900, 1900, 600, WHITE), 1.1), ((-700, 300, 1900, 600, WHITE), 0.8)],
    ),
    "window": ((0.45, 0.465, 0.5), [(WINDOW, 2.4)]),
    "lamp": ((0.27, 0.25, 0.235), [((380, -200, 420, 45, WARM), 2.2)]),
    "hand": ((0.27, 0.25, 0.235), [((330, -260, 560, 30, WARM), 2.4)]),
    "two": ((0.32, 0.33, 0.35), [(WINDOW, 1.7), ((-420, 0, 430, 60, WARM), 1.5)]),
    "dim": ((0.54, 0.45, 0.36), [((600, -500, 1500, 120, WARM), 0.7)]),
    "glare": ((0.4, 0.42, 0.45), [((0, 0, 0, 40, WHITE), 6.0), (WINDOW, 0.8)]),
}
"""The lamp without a place hangs where the face mirrors it into the camera."""


def make_room(
    scene: Scene, camera: Camera, kind: str, rng: np.random.Generator
) -> Room:
    """Light the scene in the given way for this camera."""
    long, wide = scene.face.length_mm, scene.face.width_mm
    middle = np.array([wide / 2, -long / 2, scene.body_mm])
    side = 1.0 if rng.random() < 0.5 else -1.0
    wave = (float(rng.uniform(0, 2 * np.pi)), float(rng.uniform(0.08, 0.25)))
    flat = np.array([1.0, 1.0, 0.0])
    axes = np.stack([side * camera.turn[0] * flat, camera.turn[1] * flat, [0, 0, 1]])
    hand = _hand(rng) if kind == "hand" else None
    along = np.array([0.0, long, 0.0])
    around, told = KINDS[kind]
    lamps = []
    for (right, foot, up, size, colour), power in told:
        place = middle + np.array([right, foot, up]) @ axes
        place = place + rng.normal(0, 0.03, 3) * np.linalg.norm(place - middle)
        if up == 0:
            spot = middle + along * rng.uniform(-0.25, 0.25)
            sight = spot - camera.place_mm
            place = spot + sight / np.linalg.norm(sight) * np.array([1, 1, -1]) * 800
        half = (float(size), float(size))
        target = middle + along * rng.uniform(-0.15, 0.2)
        strong = np.array(colour, dtype=np.float32) * power * rng.uniform(0.92, 1.08)
        lamps.append(
            Lamp(
                place_mm=place,
                half_mm=half,
                reach_mm=float(np.linalg.norm(place - middle)),
                colour=strong.astype(np.float32),
                on_face=_reach(scene, place, half, scene.body_mm + 0.01, hand, target),
                on_bench=_reach(scene, place, half, 0.0, hand, target),
            )
        )
    return Room(
        lamps=tuple(lamps),
        around=np.array(around, dtype=np.float32),
        wave=wave,
        near_bench=_closeness(scene),
    )


def _map_points(scene: Scene, height_mm: float) -> tuple[Real, Real, Real]:
    at = (np.arange(MAP_SIDE) - MAP_SIDE / 2 + 0.5) * MAP_MM
    x = scene.face.width_mm / 2 + at[None, :] + 0 * at[:, None]
    y = -scene.face.length_mm / 2 - at[:, None] + 0 * at[None, :]
    return x, y, np.full_like(x, height_mm)


def _closeness(scene: Scene) -> Array:
    x, y, _ = _map_points(scene, 0.0)
    out_x = np.maximum(np.maximum(-x, x - scene.face.width_mm), 0)
    out_y = np.maximum(np.maximum(y, -scene.face.length_mm - y), 0)
    near = np.exp(-np.hypot(out_x, out_y) / (0.5 * scene.body_mm))
    return np.asarray(1 - 0.55 * near, dtype=np.float32)


def _hand(rng: np.random.Generator) -> Array:
    """Draw a forearm with spread fingers, 1 mm a step, its middle in the middle."""
    shape = np.zeros((512, 512), dtype=np.uint8)
    cv2.line(shape, (256, 256), (200, 511), 255, 66)
    cv2.ellipse(shape, (256, 250), (44, 55), 0, 0, 360, 255, -1)
    for k, lean in enumerate((-0.75, -0.28, -0.05, 0.16, 0.40)):
        reach = (70, 112, 124, 116, 96)[k] + 35
        tip = (int(256 + reach * np.sin(lean)), int(250 - reach * np.cos(lean)))
        cv2.line(shape, (int(256 + 50 * np.sin(lean)), 225), tip, 255, 17)
    turn = cv2.getRotationMatrix2D((256, 256), float(rng.uniform(-60, 60)), 1.0)
    return np.asarray(cv2.warpAffine(shape, turn, (512, 512)) / 255, dtype=np.float32)


def _reach(
    scene: Scene,
    lamp: Real,
    half: tuple[float, float],
    height_mm: float,
    hand: Array | None,
    target: Real,
) -> Array:
    """Give the share of the lamp that each spot of a level map sees."""
    points = [axis.astype(np.float32) for axis in _map_points(scene, height_mm)]
    if hand is None and height_mm >= scene.body_mm:
        return np.ones_like(points[0])
    low = (0.0, -scene.face.length_mm, 0.0)
    high = (scene.face.width_mm, 0.0, scene.body_mm)
    total = np.zeros_like(points[0])
    for i in range(COUNT * COUNT):
        part = ((np.array([i % COUNT, i // COUNT]) + 0.5) / COUNT * 2 - 1) * half
        place = [float(n) for n in lamp + np.array([part[0], part[1], 0.0])]
        first, last = np.zeros_like(total) + 1e-6, np.ones_like(total)
        for at, begin, end, goal in zip(points, low, high, place, strict=True):
            way = goal - at
            way[np.abs(way) < 1e-4] = 1e-4
            enter, leave = (begin - at) / way, (end - at) / way
            first = np.maximum(first, np.minimum(enter, leave))
            last = np.minimum(last, np.maximum(enter, leave))
        free = (last <= first).astype(np.float32)
        if hand is not None:
            # Lay the hand so that the middle of its shadow falls on the target.
            middle = target + (lamp - target) * (HAND_MM - target[2]) / (
                lamp[2] - target[2]
            )
            share = (HAND_MM - height_mm) / (place[2] - height_mm)
            u = points[0] + (place[0] - points[0]) * share - float(middle[0]) + 256
            v = 256 - (points[1] + (place[1] - points[1]) * share - float(middle[1]))
            free *= 1 - cv2.remap(hand, u, v, cv2.INTER_LINEAR, borderValue=0)
        total += free
    return np.asarray(cv2.GaussianBlur(total / COUNT**2, (0, 0), 0.8), np.float32)
