"""How well scribble photos are read: pretended photos, whose truth is known.

    python -m tests.photo_study                 # all scenes, in four ways each
    python -m tests.photo_study --few           # six small ones
    python -m tests.photo_study --only twist    # those with this in their name
    python -m tests.photo_study --save FOLDER   # and pictures to look at
    python -m tests.photo_study --seeds 1000    # the same scenes, drawn anew
    python -m tests.photo_study --draw FOLDER   # pictures only, nothing is read
    python -m tests.photo_study --second        # scenes drawn by other means, unseen

Each scene is read with its corners given and with the corners left to be found, and
both with and without the photo before the strokes.
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.errors import LappingError
from lapping.photo.toe import Toe
from tests import photo_other
from tests.photo_scenes import Scene, Shot, few_scenes, render, scenes
from tests.photo_scenes.sheet import sheet

Cells = NDArray[np.float64]
AnyScene = Scene | photo_other.Scene
AnyShot = Shot | photo_other.Shot
WAYS = ("given, before", "given", "found, before", "found")
"""Corners given or found, with or without the photo before."""
WITHIN = {True: 3.0, False: 6.0}
"""Contact should be within so many points with, and without, the photo before."""
CORNER_MM = 1.5
HIDDEN = 0.5
"""A cell of which the photo hides more than this is not known to anyone."""
AT_ONCE = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """What one way of reading made of a scene; ``refused`` is why it made nothing."""

    errors: Cells
    off_percent: float | None = None
    corner_mm: float | None = None
    unknown_percent: float = 100.0
    rubbed: Cells | None = None
    corners_px: Cells | None = None
    refused: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """One scene and its readings in each way."""

    scene: AnyScene
    contact_percent: float
    outline_whole: bool
    ways: dict[str, Reading]


def read(scene: AnyScene, save: Path | None) -> Read:
    """Draw a scene, read it in all ways, and save a sheet if a folder is given."""
    cv2.setNumThreads(1)
    shot = render(scene) if isinstance(scene, Scene) else photo_other.render(scene)
    with tempfile.TemporaryDirectory() as folder:
        after, before = Path(folder) / "after.jpg", Path(folder) / "before.jpg"
        for path, picture in ((after, shot.after), (before, shot.before)):
            # Coded once already; this must not add to it.
            cv2.imwrite(str(path), picture, [cv2.IMWRITE_JPEG_QUALITY, 97])
        ways = {way: _one_way(scene, shot, way, after, before) for way in WAYS}
    if save is not None and isinstance(scene, Scene):
        answers = {w: r.rubbed for w, r in ways.items() if r.rubbed is not None}
        _write(save, scene, sheet(shot, answers, ways["found, before"].corners_px))
    return Read(
        scene=scene,
        contact_percent=shot.contact_percent,
        outline_whole=shot.outline_whole,
        ways=ways,
    )


def _one_way(
    scene: AnyScene, shot: AnyShot, way: str, after: Path, before: Path
) -> Reading:
    from lapping.photo.look import look

    given, both = way.startswith("given"), way.endswith("before")
    try:
        seen = look(
            after,
            scene.face,
            before=before if both else None,
            corners_px=shot.after_corners_px if given else None,
            before_corners_px=shot.before_corners_px if given and both else None,
            toe=None if given else _toe(scene),
        )
    except LappingError as refusal:
        return Reading(errors=np.empty(0), refused=str(refusal))
    contact = seen.contact
    rubbed = np.asarray(contact.rubbed, np.float64)
    known = np.isfinite(rubbed) & np.isfinite(shot.rubbed) & (shot.unknown <= HIDDEN)
    share = contact.contact_percent
    corners = np.asarray(seen.corners_px, np.float64)
    return Reading(
        errors=np.abs(rubbed - shot.rubbed)[known],
        off_percent=None if share is None else share - shot.contact_percent,
        corner_mm=None if given else _corner_mm(scene, shot, corners),
        unknown_percent=contact.unknown_percent,
        rubbed=rubbed,
        corners_px=corners,
    )


def _toe(scene: AnyScene) -> Toe:
    return scene.camera.toe if isinstance(scene, Scene) else scene.toe


def _corner_mm(scene: AnyScene, shot: AnyShot, corners_px: Cells) -> float:
    """Give how far off the worst corner lies, on the face."""
    face = scene.face
    outline = np.array(
        [
            [0, 0],
            [face.width_mm, 0],
            [face.width_mm, face.length_mm],
            [0, face.length_mm],
        ]
    )
    to_face = cv2.getPerspectiveTransform(
        shot.after_corners_px.astype(np.float32), outline.astype(np.float32)
    )
    found = cv2.perspectiveTransform(corners_px[None], to_face)[0]
    return float(np.linalg.norm(found - outline, axis=1).max())


def table(found: Sequence[Read]) -> str:
    """Give the figures for each difficulty and way as a table in Markdown."""
    lines = [
        "| scenes | corners, photos | refused | median cell error | nine in ten cells "
        "| contact within 3 or 6 | corners within 1.5 mm | unknown |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for difficulty in ("easy", "fair", "nasty", "all"):
        some = [r for r in found if difficulty in (r.scene.difficulty, "all")]
        if some:
            lines += [_row(f"{difficulty} ({len(some)})", some, w) for w in WAYS]
    return "\n".join(lines)


def _row(name: str, some: Sequence[Read], way: str) -> str:
    readings = [r.ways[way] for r in some]
    errors = np.concatenate([r.errors for r in readings])
    limit = WITHIN[way.endswith("before")]
    near = sum(r.off_percent is not None and abs(r.off_percent) <= limit
               for r in readings)  # fmt: skip
    whole = [r.ways[way] for r in some if r.outline_whole]
    met = sum(r.corner_mm is not None and r.corner_mm <= CORNER_MM for r in whole)
    corners = "" if way.startswith("given") else f"{met} of {len(whole)}"
    cells = (
        f"{np.median(errors):.3f} | {np.quantile(errors, 0.9):.3f}"
        if errors.size
        else "none | none"
    )
    unknown = np.mean([r.unknown_percent for r in readings])
    refused = sum(bool(r.refused) for r in readings)
    return (
        f"| {name} | {way} | {refused} | {cells} | {near} of {len(readings)} "
        f"| {corners} | {unknown:.0f} % |"
    )


def line(found: Read) -> str:
    """Give one line for a scene: for each way contact, cells and corners."""
    parts = []
    for way, reading in found.ways.items():
        if reading.refused:
            parts.append(f"{way}: REFUSED {reading.refused}")
            continue
        off = reading.off_percent
        corner = "" if reading.corner_mm is None else f" {reading.corner_mm:.1f} mm"
        cells = f"{np.median(reading.errors):.3f}" if reading.errors.size else "none"
        contact = "no contact told" if off is None else f"{off:+.1f}"
        parts.append(f"{way}: {contact} cells {cells}{corner}")
    scene = found.scene
    number = scene.seed if isinstance(scene, Scene) else "second"
    return (
        f"[{scene.difficulty} {number}] {scene.name}: true "
        f"{found.contact_percent:.1f} % | " + " | ".join(parts)
    )


def _write(folder: Path, scene: Scene, picture: NDArray[np.uint8]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    cv2.imwrite(str(folder / f"{scene.seed}.png"), picture)


def draw(scene: Scene, save: Path) -> str:
    """Draw a scene and save its sheet without reading it."""
    cv2.setNumThreads(1)
    shot = render(scene)
    _write(save, scene, sheet(shot, {}, None))
    return f"[{scene.difficulty} {scene.seed}] {scene.name}"


def main() -> None:
    """Draw and read the scenes that were asked for, and print the figures."""
    asked = argparse.ArgumentParser(description="How well scribble photos are read.")
    asked.add_argument("--save", type=Path, help="folder for pictures to look at")
    asked.add_argument("--draw", type=Path, help="only draw, into this folder")
    asked.add_argument("--only", default="", help="part of a name, or a seed")
    asked.add_argument("--few", action="store_true", help="six small scenes")
    asked.add_argument("--seeds", type=int, default=0, help="add this to every seed")
    asked.add_argument("--second", action="store_true", help="drawn by other means")
    given = asked.parse_args()
    chosen: list[AnyScene] = [
        replace(scene, seed=scene.seed + given.seeds)
        for scene in (few_scenes() if given.few else scenes())
        if given.only in scene.name or given.only == str(scene.seed)
    ]
    if given.second:
        chosen = [one for one in photo_other.scenes() if given.only in one.name]
    with ProcessPoolExecutor(AT_ONCE) as pool:
        if given.draw is not None:
            for said in pool.map(partial(draw, save=given.draw), chosen):
                print(said, flush=True)
            return
        found = []
        for one in pool.map(partial(read, save=given.save), chosen):
            found.append(one)
            print(line(one), flush=True)
    print("\n" + table(found))


if __name__ == "__main__":
    main()
