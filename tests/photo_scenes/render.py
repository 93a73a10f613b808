"""Take both photos of a scene, and work out what is true of them."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.photo_scenes.bench import Bench, bench_of
from tests.photo_scenes.body import view
from tests.photo_scenes.colour import light_of
from tests.photo_scenes.fields import blurred
from tests.photo_scenes.lights import falling
from tests.photo_scenes.optics import Pose, face_corners_mm, placed
from tests.photo_scenes.plot import Plot, plot
from tests.photo_scenes.scene import Array, Camera, Developing, Light, Scene, Shot
from tests.photo_scenes.sensor import developed
from tests.photo_scenes.surface import Worked, glow, worked

LEAST_FINE, MOST_FINE = 8.0, 18.0
LEAST_INK = 0.01
"""A cell with less than this share of a full coat never had ink."""
BLOWN, BLACK = 248, 10
FINGER_MM = 17.0


def render(scene: Scene) -> Shot:
    """Give both photos and the truth; the same scene always gives the same."""
    pose = placed(scene.camera, scene.face)
    corners = pose.seen_at_px(face_corners_mm(scene.face))
    long_px = float(np.linalg.norm(corners[3] - corners[0]))
    per_mm = long_px / scene.face.length_mm
    fine = float(np.clip(1.2 * per_mm, LEAST_FINE, MOST_FINE))
    work = worked(scene, plot(scene.face, fine))
    bench = bench_of(scene, per_mm)
    after, hidden = _photo(
        scene, work, scene.light, pose, scene.developing, bench, rubbed=True
    )
    camera, light, how = _earlier(scene)
    pose_before = placed(camera, scene.face)
    before, _ = _photo(scene, work, light, pose_before, how, bench, rubbed=False)
    rubbed, contact = truth(work)
    size = np.array(scene.camera.size_px) - 1
    whole = bool((corners >= 0).all() and (corners <= size).all() and not scene.finger)
    return Shot(
        scene=scene,
        after=after,
        before=before,
        after_corners_px=corners,
        before_corners_px=pose_before.seen_at_px(face_corners_mm(scene.face)),
        rubbed=rubbed,
        unknown=_unknown(work.plot, pose, after, hidden),
        contact_percent=contact,
        outline_whole=whole,
    )


def truth(work: Worked) -> tuple[NDArray[np.float64], float]:
    """Give the share rubbed off each cell, and its mean over the metal in percent."""
    had = work.plot.sums(work.ink * work.plot.metal)
    has = work.plot.sums(work.ink * work.plot.metal * work.kept)
    metal = work.plot.sums(work.plot.metal)
    known = (metal > 0) & (had > LEAST_INK * metal)
    rubbed = np.where(known, 1 - has / np.where(known, had, 1.0), np.nan)
    share = float((metal * np.where(known, rubbed, 0.0)).sum() / metal[known].sum())
    return rubbed, 100 * share


def _photo(
    scene: Scene,
    work: Worked,
    light: Light,
    pose: Pose,
    how: Developing,
    bench: Bench,
    *,
    rubbed: bool,
) -> tuple[NDArray[np.uint8], Array]:
    face = scene.face
    middle = np.array([face.width_mm / 2, face.length_mm / 2])
    eye = np.array([*(pose.eye_mm[:2] - middle), -pose.eye_mm[2]])
    shone = glow(scene, work, light, eye, rubbed=rubbed)
    moved = (0.0, 0.0)
    if not rubbed:
        # It was lifted for the strokes and put down again.
        right, heel = scene.stream("put down").normal(0, 25, 2)
        moved = (float(right), float(heel))
    picture = view(scene, work.plot, shone, light, pose, bench, moved)
    hidden = np.zeros(picture.shape[:2], np.float32)
    if scene.finger:
        hidden = _finger(picture, scene, light, pose)
    rng = scene.stream("sensor after" if rubbed else "sensor before")
    return developed(picture, scene.camera, how, rng), hidden


def _finger(picture: Array, scene: Scene, light: Light, pose: Pose) -> Array:
    """Lay a finger over an edge; give where it hides the face."""
    rng = scene.stream("finger")
    face = scene.face
    side = float(rng.choice([0.0, face.width_mm]))
    along = face.length_mm * rng.uniform(0.3, 0.7)
    inward = 9.0 if side == 0 else -9.0
    ends = np.array(
        [
            [side + inward, along, -8.0],
            [side - 4.5 * inward, along + 14, -14.0],
            [side - 30 * inward, along + 60, -20.0],
        ]
    )
    tip, knuckle, wrist = pose.seen_at_px(ends)
    scale = float(
        np.linalg.norm(
            np.subtract(*pose.seen_at_px(np.array([[0, along, 0], [1, along, 0]])))
        )
    )
    mask = np.zeros(picture.shape[:2], np.uint8)
    points = [
        tuple(np.round(p * 16).astype(int).tolist()) for p in (tip, knuckle, wrist)
    ]
    broad = max(3, round(FINGER_MM * scale))
    cv2.line(mask, points[0], points[1], 255, broad, cv2.LINE_AA, 4)
    cv2.line(mask, points[1], points[2], 255, round(3.6 * broad), cv2.LINE_AA, 4)
    cover = mask.astype(np.float32) / 255
    round_off = blurred(cover, 0.25 * broad)
    zero = np.zeros((1, 1), np.float32)
    lit = falling(light, zero, zero, zero).falls[0, 0]
    skin = light_of(214, 160, 132) * lit * (0.35 + 0.65 * round_off[..., None])
    shade = blurred(cover, 0.3 * broad)[..., None]
    picture *= 1 - 0.45 * shade
    picture += (skin - picture) * cover[..., None]
    return cover


def _unknown(
    squares: Plot, pose: Pose, after: NDArray[np.uint8], hidden: Array
) -> NDArray[np.float64]:
    """Give the share of each cell's metal that the photo cannot show."""
    seen = blurred(after.astype(np.float32), 1.0)
    lost = (seen.min(axis=-1) >= BLOWN) | (seen.max(axis=-1) <= BLACK) | (hidden > 0.5)
    across, along = np.meshgrid(squares.across_mm()[0], squares.along_mm()[:, 0])
    places = np.stack([across, along, np.zeros_like(along)], axis=-1).reshape(-1, 3)
    at = pose.seen_at_px(places.astype(np.float64)).astype(np.float32)
    high, wide = squares.shape
    found = cv2.remap(
        lost.astype(np.float32),
        at[:, 0].reshape(high, wide),
        at[:, 1].reshape(high, wide),
        cv2.INTER_NEAREST,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=1.0,
    )
    metal = squares.sums(squares.metal)
    with np.errstate(invalid="ignore", divide="ignore"):
        share = squares.sums(found * squares.metal) / metal
    return np.asarray(np.where(metal > 0, share, np.nan))


def _earlier(scene: Scene) -> tuple[Camera, Light, Developing]:
    """Give how the photo before was taken: by hand, a little earlier."""
    rng = scene.stream("earlier")
    much = scene.hand
    camera, light, how = scene.camera, scene.light, scene.developing

    def off(spread: float) -> float:
        return float(np.clip(rng.normal(0, spread * much), -2 * spread, 2 * spread))

    moved = replace(
        camera,
        turn_deg=float(np.clip(camera.turn_deg + off(3.5), -25, 25)),
        tilt_deg=float(np.clip(camera.tilt_deg + off(3), 0, 28)),
        tilt_to_deg=camera.tilt_to_deg + off(20),
        fill=float(np.clip(camera.fill * (1 + off(0.05)), 0.45, 0.93)),
        shift=(off(0.01), off(0.015)),
    )
    at = light.lamp_at_mm
    changed = scene.before_light or replace(
        light,
        lamp=light.lamp * (1 + off(0.12)),
        lamp_at_mm=(at[0] + off(35), at[1] + off(35), at[2] * (1 + off(0.05))),
        window=light.window * (1 + off(0.15)),
        window_from_deg=light.window_from_deg + off(4),
        room=light.room * (1 + off(0.08)),
        shade="none" if light.shade in ("hand", "phone") else light.shade,
    )
    taken = replace(
        how,
        ev=how.ev + off(0.25),
        white=(how.white[0] * (1 + off(0.04)), how.white[1] * (1 + off(0.04))),
        blur_px=how.blur_px * (1 + abs(off(0.3))),
        motion_px=abs(how.motion_px + off(0.6)) if how.motion_px else 0.0,
        jpeg=int(np.clip(how.jpeg + off(3), 60, 95)),
    )
    return moved, changed, taken
