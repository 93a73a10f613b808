"""All scenes, and a few small ones for the suite."""

from __future__ import annotations

from dataclasses import replace

from tests.photo_scenes.catalogue_easy import EASY
from tests.photo_scenes.catalogue_easy_faces import EASY_FACES
from tests.photo_scenes.catalogue_fair import FAIR
from tests.photo_scenes.catalogue_fair_ink import FAIR_INK
from tests.photo_scenes.catalogue_nasty import NASTY
from tests.photo_scenes.catalogue_nasty_metal import NASTY_METAL
from tests.photo_scenes.scene import Scene

FEW_SEEDS = (101, 102, 108, 205, 208, 302)
FEW_PX = 1400


def scenes() -> tuple[Scene, ...]:
    """Give every scene, easy ones first."""
    return EASY + EASY_FACES + FAIR + FAIR_INK + NASTY + NASTY_METAL


def few_scenes() -> tuple[Scene, ...]:
    """Give six scenes in small pictures: quick enough for the suite."""
    return tuple(small(s, FEW_PX) for s in scenes() if s.seed in FEW_SEEDS)


def small(scene: Scene, most_px: int) -> Scene:
    """Give the scene with its pictures no more than that many pixels long."""
    long = max(scene.camera.size_px)
    wide, high = (round(n * most_px / long) // 2 * 2 for n in scene.camera.size_px)
    how = scene.developing
    return replace(
        scene,
        camera=replace(scene.camera, size_px=(wide, high)),
        developing=replace(
            how, motion_px=how.motion_px * most_px / long, blur_px=max(0.6, how.blur_px)
        ),
    )
