"""Follow each pixel's ray to face, mouth, side or bench, and give the light it brings.

Metal throws light back in a lobe that is narrow along its grooves and wide across
them; ink lies over it as a clear coloured film (Beer and Lambert: what is left falls
with exp(−k · way)) with a sheen of its own. Light is linear, R G B, in any unit.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from .bench import SIDE, STEP_MM
from .camera import Camera
from .lights import MAP_MM, MAP_SIDE, Room
from .scenes import Scene

Array = NDArray[np.float32]
Sheets = tuple[Array, Array, Array]
ROWS = 192
ROUGH = {
    "lengthwise": (0.30, 0.10),
    "pitted": (0.30, 0.14),
    "crosswise": (0.10, 0.28),
    "milled": (0.17, 0.17),
    "stippled": (0.24, 0.20),
}
"""Spread of the slopes of unseen grooves, across and along the face."""
CLEAR = 0.008
"""Light that a clear film throws straight back from its gloss, times its lobe."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """Everything one picture needs."""

    scene: Scene
    camera: Camera
    room: Room
    sheets: Sheets
    """Four bands each: film R G B and cover; metal R G B and dull share; slopes
    across and along, dirt, oil."""
    bench: Array
    side: tuple[float, float, float]


def look(view: View) -> Array:
    """Give the light (height, width, 3) that falls on the sensor, unblurred."""
    camera = view.camera
    out = np.zeros((camera.height_px, camera.width_px, 3), dtype=np.float32)
    for first in range(0, camera.height_px, ROWS):
        last = min(first + ROWS, camera.height_px)
        rays = camera.rays(first, last).reshape(-1, 3)
        out[first:last] = _strip(view, rays).reshape(last - first, -1, 3)
    return out


def _strip(view: View, rays: Array) -> Array:
    scene, face = view.scene, view.scene.face
    eye = view.camera.place_mm.astype(np.float32)
    rays = rays / np.linalg.norm(rays, axis=1, keepdims=True)
    light = np.zeros_like(rays)
    down = (scene.body_mm - eye[2]) / np.minimum(rays[:, 2], -1e-3)
    top = eye + down[:, None] * rays
    gone = ~_inside(top, scene)
    on = np.flatnonzero(~gone)
    light[on] = _face(view, top[on], rays[on])
    if face.mouth is not None:
        left, right = face.mouth_sides_mm()
        x, along = top[on, 0], -top[on, 1]
        slot = (along > face.mouth.from_mm) & (along < face.mouth.to_mm)
        deep = on[slot & (x > left) & (x < right)]
        light[deep] = _slot(view, top[deep], rays[deep])
    off = np.flatnonzero(gone)
    light[off] = _around(view, rays[off], eye)
    return light


def _inside(top: Array, scene: Scene) -> NDArray[np.bool_]:
    """Say which spots of the plane of the face lie within its rounded corners."""
    half = np.array([scene.face.width_mm, scene.face.length_mm], dtype=np.float32) / 2
    off = np.abs(top[:, :2] - np.array([half[0], -half[1]], dtype=np.float32)) - half
    r = scene.round_mm
    edge = off + r
    inside = (off[:, 0] < 0) & (off[:, 1] < 0)
    cut = (edge[:, 0] > 0) & (edge[:, 1] > 0) & (np.hypot(edge[:, 0], edge[:, 1]) > r)
    return np.asarray(inside & ~cut)


def _pick(
    sheet: Array, u: Array, v: Array, border: int = cv2.BORDER_REPLICATE
) -> Array:
    """Read a sheet at places (n,), whatever n is."""
    wide = 1024
    pad = -len(u) % wide
    grid = [np.pad(a, (0, pad)).astype(np.float32).reshape(-1, wide) for a in (u, v)]
    if grid[0].size == 0:
        return np.zeros((0, *sheet.shape[2:]), dtype=np.float32)
    got = cv2.remap(sheet, grid[0], grid[1], cv2.INTER_LINEAR, borderMode=border)
    return np.asarray(got.reshape(-1, *sheet.shape[2:])[: len(u)], dtype=np.float32)


def _map_place(scene: Scene, spot: Array) -> tuple[Array, Array]:
    """Give where spots fall on level maps: mm right of and below their middle."""
    right = spot[:, 0] - scene.face.width_mm / 2
    return right, -(spot[:, 1] + scene.face.length_mm / 2)


def _level(scene: Scene, sheet: Array, spot: Array) -> Array:
    right, below = _map_place(scene, spot)
    middle = MAP_SIDE / 2 - 0.5
    return _pick(sheet, right / MAP_MM + middle, below / MAP_MM + middle)


def _room_light(view: View, way: Array, eye_way: Array) -> Array:
    """Give the room as seen in direction way, dark where the phone itself hangs."""
    sway, swing = view.room.wave
    high = 0.55 + 0.45 * np.clip(way[:, 2], 0, 1)
    wall = np.sin(2 * np.arctan2(way[:, 1], way[:, 0]) + sway)
    wall = 1 + swing * wall * np.hypot(way[:, 0], way[:, 1])
    phone = 1 - 0.4 * np.exp(-(1 - np.sum(way * eye_way, axis=1)) / 0.035)
    return np.asarray((high * wall * phone)[:, None] * view.room.around)


def _lobe(half: Array, wide: Array, slopes: Array, rough: tuple[float, float]) -> Array:
    """Give how many facets stand at the half-way slope (Beckmann, two widths)."""
    ax, ay = rough[0] ** 2 + wide[:, 0], rough[1] ** 2 + wide[:, 1]
    off = (half[:, 0] + slopes[:, 0]) ** 2 / ax + (half[:, 1] + slopes[:, 1]) ** 2 / ay
    # The second term keeps a long foot under the peak, as ground metal has.
    peak = np.exp(-off) + 0.08 / (1 + off) ** 1.6
    return np.asarray(peak / (np.pi * np.sqrt(ax * ay)), dtype=np.float32)


def _face(view: View, spot: Array, rays: Array) -> Array:
    """Give the light from spots of the face, ink and dirt and all."""
    scene, room = view.scene, view.room
    rows, columns = view.sheets[0].shape[:2]
    u = spot[:, 0] * (columns / scene.face.width_mm) - 0.5
    v = -spot[:, 1] * (rows / scene.face.length_mm) - 0.5
    film, metal, form = (_pick(sheet, u, v) for sheet in view.sheets)
    eye = -rays
    slopes, dirt, oil = form[:, :2], form[:, 2:3], form[:, 3:]
    cover, dull = film[:, 3:], metal[:, 3:]
    shiny = metal[:, :3] * (1 - dull)
    mirror = rays * np.array([1, 1, -1], dtype=np.float32)
    mirror[:, :2] -= 2 * slopes * eye[:, 2:]
    mirror[:, 2] = np.abs(mirror[:, 2])
    ambient = _room_light(view, mirror, eye)
    # The way through the film grows with slant; inside it light is bent (n = 1.5).
    slant = 1 / np.sqrt(1 - (1 - eye[:, 2:] ** 2) / 2.25)
    through = np.maximum(film[:, :3], 1e-4)
    lit = through**slant * ambient * shiny
    flat = np.tile(room.around * np.float32(0.7), (len(spot), 1))
    gloss = CLEAR * ambient * (8 * cover + 6 * oil)
    rough = ROUGH[scene.finish]
    rough = (scene.polish * rough[0], scene.polish * rough[1])
    for lamp in room.lamps:
        way = lamp.place_mm.astype(np.float32) - spot
        far = np.linalg.norm(way, axis=1)
        way /= far[:, None]
        power = _level(scene, lamp.on_face, spot) * (lamp.reach_mm / far) ** 2
        shine = (power * way[:, 2])[:, None] * lamp.colour
        half = way + eye
        half /= half[:, 2:]
        # A big lamp blurs its own image: its half angle adds to the roughness.
        wide = (np.array(lamp.half_mm, dtype=np.float32) / far[:, None] / 2) ** 2
        lobe = _lobe(half, wide, slopes, rough)
        lobe /= 4 * np.maximum(eye[:, 2], 0.2) * np.maximum(way[:, 2], 0.2)
        bent = 0.5 / np.sqrt(1 - (1 - way[:, 2:] ** 2) / 2.25) + 0.5 * slant
        lit += through**bent * shine * lobe[:, None] * shiny
        flat += shine / np.float32(np.pi)
        skin = cover[:, 0] * _lobe(half, wide, 0.5 * slopes, (0.16, 0.12))
        skin += oil[:, 0] * _lobe(half, wide, 0.2 * slopes, (0.09, 0.09))
        gloss += CLEAR * 3 * skin[:, None] * shine
    lit += through ** (2 * slant - 1) * flat * metal[:, :3] * 1.2 * dull
    body = (1 - film[:, :3]) * film[:, :3] * 0.05
    lit = lit * (1 - 0.25 * oil) + body * flat + gloss
    grime = np.array([0.05, 0.047, 0.043], dtype=np.float32) * flat
    return np.asarray(lit + (grime - lit) * dirt, dtype=np.float32)


def _slot(view: View, spot: Array, rays: Array) -> Array:
    """Look down the mouth: its walls catch some light near the top, then it is dark."""
    mouth = view.scene.face.mouth
    assert mouth is not None
    left, right = view.scene.face.mouth_sides_mm()
    along, go = -spot[:, 1], -rays[:, 1]
    to_end = np.where(go > 0, mouth.to_mm - along, along - mouth.from_mm)
    to_side = np.where(rays[:, 0] > 0, right - spot[:, 0], spot[:, 0] - left)
    way = np.minimum(
        to_end / np.maximum(np.abs(go), 1e-3),
        to_side / np.maximum(np.abs(rays[:, 0]), 1e-3),
    )
    deep = way * -rays[:, 2]
    glow = 0.16 * np.exp(-deep / 3.5) + 0.006
    total = view.room.around + sum(0.3 * lamp.colour for lamp in view.room.lamps)
    return np.asarray(glow[:, None] * total, dtype=np.float32)


def _around(view: View, rays: Array, eye: Array) -> Array:
    """Give what rays meet that miss the face: a side of the body, else the bench."""
    scene = view.scene
    wide, long, high = scene.face.width_mm, scene.face.length_mm, scene.body_mm
    down = -eye[2] / np.minimum(rays[:, 2], -1e-3)
    spot = eye + down[:, None] * rays
    right, below = _map_place(scene, spot)
    middle = SIDE / 2 - 0.5
    u, v = right / STEP_MM + middle, below / STEP_MM + middle
    colour = _pick(view.bench, u, v, cv2.BORDER_REFLECT)
    flat = view.room.around * _level(scene, view.room.near_bench, spot)[:, None]
    for lamp in view.room.lamps:
        way = lamp.place_mm.astype(np.float32) - spot
        far = np.linalg.norm(way, axis=1)
        power = _level(scene, lamp.on_bench, spot) * (lamp.reach_mm / far) ** 2
        flat += (power * way[:, 2] / far * 0.38)[:, None] * lamp.colour
    light = colour * flat
    for axis, at, sign in ((0, 0.0, -1), (0, wide, 1), (1, 0.0, 1), (1, -long, -1)):
        if (float(eye[axis]) - at) * sign <= 0:
            continue
        go = rays[:, axis]
        away = (at - eye[axis]) / np.where(np.abs(go) < 1e-5, np.float32(1e-5), go)
        deep = eye[2] + away * rays[:, 2]
        other = eye[1 - axis] + away * rays[:, 1 - axis]
        low, high_end = (-long, 0.0) if axis == 0 else (0.0, wide)
        on = (
            (away > 0) & (deep > 0) & (deep < high) & (other > low) & (other < high_end)
        )
        light[on] = _wall(view, eye + away[on, None] * rays[on], axis, sign)
    return np.asarray(light, dtype=np.float32)


def _wall(view: View, hit: Array, axis: int, sign: int) -> Array:
    """Give the light from spots on a side or an end of the body."""
    high = view.scene.body_mm
    shine = view.room.around * (0.35 + 0.3 * hit[:, 2:] / high)
    for lamp in view.room.lamps:
        way = lamp.place_mm.astype(np.float32) - hit
        slant = np.maximum(sign * way[:, axis], 0) / np.linalg.norm(way, axis=1)
        shine = shine + slant[:, None] * lamp.colour * 0.5
    grain = 1 + 0.06 * np.sin(hit[:, 2:] * 9 + 2 * np.sin(hit[:, 1 - axis, None] / 17))
    # The edge to the face is broken by a stroke or two of a file and shines.
    rim = 1 + 1.3 * (hit[:, 2:] > high - 0.5)
    side = np.array(view.side, dtype=np.float32)
    return np.asarray(shine * grain * rim * side, dtype=np.float32)
