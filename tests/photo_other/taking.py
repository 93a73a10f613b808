"""Take the two pictures of a scene and work out what is true of them."""

from __future__ import annotations

import zlib

import cv2
import numpy as np
from numpy.typing import NDArray

from .bench import make_bench
from .camera import Camera, blur, choose, corners_mm, develop, make_camera, tone
from .lights import Room, make_room
from .scenes import Scene, Shot
from .shade import View, look
from .sole import INKS, METALS, Array, Sole, cell_sums, field, make_sole, truth

SHOWN_LEVELS = 8
"""Bare metal and a full pass of ink that come out closer than this, of 255, in every
colour cannot be told apart in a picture with noise and JPEG; an own choice."""
SIDES = {
    "bare": (0.20, 0.20, 0.195),
    "black": (0.012, 0.012, 0.013),
    "blue": (0.02, 0.05, 0.12),
}


def render(scene: Scene) -> Shot:
    """Draw both pictures of the scene and give what is true of them."""
    rng = np.random.default_rng(zlib.crc32(scene.name.encode()))
    cameras = [make_camera(scene, rng, before=before) for before in (False, True)]
    seeds = rng.integers(2**32, size=2)
    if scene.apart <= 1 and not scene.light_before:
        # Both taken in one go: the lamps have not moved in between.
        seeds[1] = seeds[0]
    kinds = (scene.light, scene.light_before or scene.light)
    rooms = [
        make_room(scene, camera, kind, np.random.default_rng(seed))
        for camera, kind, seed in zip(cameras, kinds, seeds, strict=True)
    ]
    steps = [_step_mm(camera, scene) for camera in cameras]
    sole = make_sole(scene, float(np.clip(min(steps), 0.07, 0.3)), rng)
    dirt = _dirt(scene, sole, rng)
    bench = make_bench(scene, rng)
    pictures, unknown = [], None
    for camera, room, rubbed in zip(cameras, rooms, (True, False), strict=True):
        ink = sole.ink_after if rubbed else sole.ink_before
        view = _view(scene, sole, camera, room, bench, dirt, ink, rubbed=rubbed)
        seed = int(rng.integers(2**32))
        light = _finger(
            blur(look(view), scene, np.random.default_rng(seed)), view, rubbed
        )
        setting = choose(light, scene)
        pictures.append(develop(light, setting, scene, rng))
        if rubbed:
            bare = [
                _view(
                    scene, sole, camera.shrunk(4), room, bench, dirt, flat, rubbed=True
                )
                for flat in (0 * ink, 0 * ink + 1)
            ]
            shown = [
                tone(
                    _finger(
                        blur(look(v), scene, np.random.default_rng(seed), 4), v, True
                    ),
                    setting,
                )
                for v in bare
            ]
            unknown = _unknown(scene, bare[0].camera, shown, sole)
    assert unknown is not None
    rubbed_share, contact = truth(sole)
    corners = [camera.project(corners_mm(scene)) for camera in cameras]
    frame = np.array([[c.width_px - 1, c.height_px - 1] for c in cameras])
    whole = all(
        np.all((c >= 0) & (c <= f)) for c, f in zip(corners, frame, strict=True)
    )
    return Shot(
        after=pictures[0],
        before=pictures[1],
        after_corners_px=corners[0],
        before_corners_px=corners[1],
        rubbed=rubbed_share,
        contact_percent=contact,
        outline_whole=bool(whole and not scene.finger),
        unknown=unknown,
    )


def _step_mm(camera: Camera, scene: Scene) -> float:
    """Give what one pixel spans on the face, in the middle of it."""
    middle = corners_mm(scene).mean(axis=0)
    ends = camera.project(np.array([middle, middle + np.array([1.0, 0, 0])]))
    return float(1 / np.linalg.norm(ends[1] - ends[0]))


def _dirt(
    scene: Scene, sole: Sole, rng: np.random.Generator
) -> tuple[Array, Array, Array]:
    """Lay specks (before, after) and oil over the face as shares of cover."""
    shape = sole.metal.shape
    step = sole.texel_mm
    speck = field(rng, shape, 0.3 / step + 1, 0.3 / step + 1)
    cloud = field(rng, shape, 18 / step, 9 / step)
    dust = np.clip((speck - 2.6) / 0.3, 0, 1) * 0.8
    paste = np.clip(field(rng, shape, 25 / step, 3 / step) + cloud - 1.2, 0, 1) * 0.35
    after = np.clip((speck - 2.4 + 0.35 * cloud) / 0.4, 0, 1) + paste
    smear = field(rng, shape, 30 / step, 12 / step) + 0.5 * field(
        rng, shape, 6 / step, 2 / step
    )
    oil = scene.oil * np.clip(0.5 + 0.8 * smear, 0, 1)
    return (
        (scene.swarf * 0.3 * dust).astype(np.float32),
        np.clip(scene.swarf * after, 0, 0.9).astype(np.float32),
        oil.astype(np.float32),
    )


def _view(
    scene: Scene,
    sole: Sole,
    camera: Camera,
    room: Room,
    bench: Array,
    dirt: tuple[Array, Array, Array],
    ink: Array,
    *,
    rubbed: bool,
) -> View:
    """Turn heights, ink and wear into the sheets that the light model reads."""
    worn = sole.worn * sole.metal if rubbed else np.zeros_like(sole.worn)
    swallow = np.array(INKS[scene.marker], dtype=np.float32) * scene.strength
    film = np.exp(-ink[..., None] * swallow)
    cover = 1 - np.exp(-3 * ink)
    colour, dull = METALS[scene.metal]
    base = np.array(colour, dtype=np.float32)
    stain = sole.patina * (1 - 0.75 * worn)
    rust = np.clip(sole.patina - 0.7, 0, 0.5) * (1 - worn)
    tint = np.array([0.55, 0.50, 0.44], dtype=np.float32)
    metal = base * (1 - np.clip(stain, 0, 1)[..., None] * (1 - tint))
    metal = metal * (1 - rust[..., None] * np.array([0.0, 0.5, 0.9], dtype=np.float32))
    disc = np.array(METALS["brass"][0], dtype=np.float32)
    metal = metal + sole.rivet[..., None] * (disc - metal)
    flat = np.clip(dull + 0.45 * stain + 0.5 * rust - 0.03 * worn, 0, 0.9)
    # Coarse metal shows its own grooves, rubbed metal the fresh fine ones.
    high = -sole.groove_um * (1 - 0.6 * worn) + 0.8 * sole.scratch_um * worn
    high = high * np.float32(0.05)
    slopes = _slopes(sole, high.astype(np.float32))
    sheets = [
        np.dstack([film, cover]).astype(np.float32),
        np.dstack([metal, flat]).astype(np.float32),
        np.dstack([*slopes, dirt[1 if rubbed else 0], dirt[2]]).astype(np.float32),
    ]
    ratio = _step_mm(camera, scene) / sole.texel_mm
    if ratio > 1.2:
        # Average over what a pixel spans, else the far grid would sparkle.
        sheets = [
            np.asarray(cv2.GaussianBlur(s, (0, 0), 0.4 * ratio), dtype=np.float32)
            for s in sheets
        ]
    return View(
        scene=scene,
        camera=camera,
        room=room,
        sheets=(sheets[0], sheets[1], sheets[2]),
        bench=bench,
        side=SIDES[scene.body],
    )


def _slopes(sole: Sole, high: Array) -> tuple[Array, Array]:
    """Give the slopes towards +x and +y, the outline and the mouth broken by a file."""
    inner = np.pad(sole.metal.astype(np.uint8), 1)
    far = cv2.distanceTransform(inner, cv2.DIST_L2, 3)[1:-1, 1:-1] * sole.texel_mm
    fall = 0.5 * np.clip(1 - far / 0.6, 0, 1)
    inward = np.gradient(np.minimum(far, 1.0))
    size = np.hypot(inward[0], inward[1]) + 1e-6
    found = [
        gradient + fall * into / size
        for gradient, into in zip(np.gradient(high), inward, strict=True)
    ]
    return found[1].astype(np.float32), (-found[0]).astype(np.float32)


def _unknown(
    scene: Scene, camera: Camera, shown: list[Array], sole: Sole
) -> NDArray[np.float64]:
    """Give the share of each cell where the picture could not tell ink from metal."""
    face = scene.face
    along = np.arange(0.5, face.length_mm, 1.0)
    across = np.arange(0.5, face.width_mm, 1.0)
    spots = np.stack(
        [
            np.tile(across, len(along)),
            -np.repeat(along, len(across)),
            np.full(len(along) * len(across), scene.body_mm),
        ],
        axis=1,
    )
    place = camera.project(spots)
    apart = np.abs(shown[1] - shown[0]).max(axis=-1) * 255
    u, v = (place[:, k].astype(np.float32).reshape(len(along), -1) for k in (0, 1))
    seen = cv2.remap(apart, u, v, cv2.INTER_LINEAR, borderValue=0)
    blind = (seen < SHOWN_LEVELS).astype(np.float32)
    size = (len(across), len(along))
    there = sole.metal.astype(np.float32)
    metal = np.asarray(
        cv2.resize(there, size, interpolation=cv2.INTER_AREA), np.float32
    )
    with np.errstate(invalid="ignore", divide="ignore"):
        return cell_sums(blind * metal, face) / cell_sums(metal, face)


def _finger(light: Array, view: View, rubbed: bool) -> Array:
    """Lay a finger over the edge of the face, in the after picture only."""
    scene = view.scene
    if not (scene.finger and rubbed):
        return light
    y = -scene.finger * scene.face.length_mm
    wide = scene.face.width_mm
    ends = np.array([[wide + 110, y - 45, 30.0], [wide - 15, y, scene.body_mm + 9]])
    start, tip = view.camera.project(ends)
    thick = 9.5 / _step_mm(view.camera, scene)
    v, u = np.mgrid[0 : light.shape[0], 0 : light.shape[1]].astype(np.float32)
    way = tip - start
    t = np.clip(((u - start[0]) * way[0] + (v - start[1]) * way[1]) / (way @ way), 0, 1)
    off = np.hypot(u - start[0] - t * way[0], v - start[1] - t * way[1]) / thick
    dark = 1 - 0.5 * np.exp(-((np.maximum(off - 1, 0) / 0.35) ** 2))
    skin = np.array([0.42, 0.25, 0.18], dtype=np.float32)
    glow = view.room.around + sum(0.45 * lamp.colour for lamp in view.room.lamps)
    round_ = 0.35 + 0.65 * np.sqrt(np.clip(1 - off**2, 0, 1))
    round_ = round_ * (
        1 + 0.25 * np.exp(-(((t - 0.93) / 0.05) ** 2 + (off / 0.6) ** 2))
    )
    on = np.clip((1 - off) * thick, 0, 1)[..., None]
    return np.asarray(
        light * dark[..., None] * (1 - on) + on * (round_[..., None] * skin * glow),
        dtype=np.float32,
    )
