"""The second, independent renderer of scribble photos keeps its promises.

Nothing here looks at how photos are read; it is checked against plain geometry,
sums by hand, and a picture of the face drawn by OpenCV's own pinhole.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import cv2
import numpy as np
import pytest

from lapping.face import Face, Mouth
from tests.photo_other import Scene, Shot, render, scenes
from tests.photo_other.camera import corners_mm, make_camera
from tests.photo_other.sole import cell_sums, make_sole, truth

FACE = Face(
    length_mm=152,
    width_mm=41,
    mouth=Mouth(from_mm=40, to_mm=52, left_mm=0, right_mm=41),
)


def small(**changed: Any) -> Scene:
    """Give a small scene that draws fast."""
    told: dict[str, Any] = {
        "name": "small",
        "difficulty": "fair",
        "face": FACE,
        "toe": "up",
        "megapixels": 0.3,
        "tilt_deg": 20.0,
        "bench": "paper",
    }
    return Scene(**(told | changed))


@cache
def shot() -> Shot:
    return render(small())


def test_scenes_cover_what_was_promised() -> None:
    every = scenes()
    assert len(every) >= 40
    assert len({scene.name for scene in every}) == len(every)
    assert {scene.difficulty for scene in every} == {"easy", "fair", "nasty"}
    assert {scene.toe for scene in every} == {"left", "right", "up", "down"}
    assert {scene.marker for scene in every} == {
        "black",
        "blue",
        "red",
        "green",
        "violet",
    }
    assert {scene.face.length_mm for scene in every} >= {150.0, 600.0}
    assert all(scene.face.mouth is not None for scene in every)
    assert max(scene.tilt_deg for scene in every) == 35
    assert max(abs(scene.turn_deg) for scene in every) == 20


def test_a_scene_comes_out_the_same_every_time() -> None:
    again = render(small())
    np.testing.assert_array_equal(shot().after, again.after)
    np.testing.assert_array_equal(shot().before, again.before)
    np.testing.assert_array_equal(shot().rubbed, again.rubbed)
    np.testing.assert_array_equal(shot().unknown, again.unknown)


def test_pictures_are_colour_and_cells_are_about_ten_mm() -> None:
    for picture in (shot().after, shot().before):
        assert picture.dtype == np.uint8
        assert picture.shape[2] == 3
    assert shot().rubbed.shape == (15, 4)
    assert shot().unknown.shape == (15, 4)
    assert shot().outline_whole


def test_untouched_and_worn_faces_are_exactly_that() -> None:
    rng = np.random.default_rng(3)
    untouched, contact = truth(make_sole(small(cut_um=0.0), 0.4, rng))
    assert np.nanmax(untouched) == 0
    assert contact == 0
    worn, contact = truth(make_sole(small(cut_um=60.0, load_um=60.0), 0.4, rng))
    assert np.nanmin(worn) == 1
    assert contact == 100


def test_truth_is_the_ink_gone_and_leaves_out_what_never_had_any() -> None:
    sole = make_sole(small(), 0.4, np.random.default_rng(3))
    before, after = np.zeros_like(sole.ink_before), np.zeros_like(sole.ink_before)
    rows = before.shape[0] // 15  # inside the first row of cells
    before[:rows], after[:rows] = 2.0, 0.5
    rubbed, contact = truth(replace(sole, ink_before=before, ink_after=after))
    # By hand: 1 − 0.5/2.
    assert rubbed[0] == pytest.approx(0.75)
    assert np.isnan(rubbed[2:]).all()
    assert contact == pytest.approx(75)


def test_cells_share_out_every_bit_of_ink() -> None:
    part = np.random.default_rng(1).random((381, 103), dtype=np.float32)
    sums = cell_sums(part, FACE)
    assert sums.shape == (15, 4)
    assert sums.sum() == pytest.approx(part.sum(dtype=np.float64))


def test_a_cell_wholly_in_the_mouth_has_no_truth() -> None:
    # The mouth runs from 40 to 52 mm across the whole width; row 4 of 15 rows of
    # 152/15 mm runs from 40.5 to 50.7 mm.
    assert np.isnan(shot().rubbed[4]).all()
    assert np.isnan(shot().unknown[4]).all()


@pytest.mark.parametrize("bend", [0.0, -0.08])
def test_corners_fall_where_opencv_puts_them(bend: float) -> None:
    scene = small(lens=bend, toe="left", turn_deg=12.0)
    camera = make_camera(scene, np.random.default_rng(5), before=False)
    middle = ((camera.width_px - 1) / 2, (camera.height_px - 1) / 2)
    matrix = np.array(
        [[camera.focal_px, 0, middle[0]], [0, camera.focal_px, middle[1]], [0, 0, 1]]
    )
    turn, _ = cv2.Rodrigues(camera.turn)
    move = -camera.turn @ camera.place_mm
    # OpenCV's radial model with k1 alone is the same 1 + k1 r².
    expected, _ = cv2.projectPoints(
        corners_mm(scene), turn, move, matrix, np.array([bend, 0, 0, 0])
    )
    found = camera.project(corners_mm(scene))
    np.testing.assert_allclose(found, expected[:, 0], atol=1e-3)
    # Rays are the other way round: where one meets the face is seen at its pixel.
    row, columns = 40, np.arange(5, camera.width_px, 60)
    rays = camera.rays(row, row + 1)[0, columns].astype(float)
    far = (scene.body_mm - camera.place_mm[2]) / rays[:, 2:]
    back = camera.project(camera.place_mm + far * rays)
    np.testing.assert_allclose(back[:, 0], columns, atol=0.02)
    np.testing.assert_allclose(back[:, 1], row, atol=0.02)


@pytest.mark.parametrize("toe", ["left", "right", "up", "down"])
def test_the_toe_lies_where_the_scene_says_and_left_is_left(toe: str) -> None:
    scene = small(toe=toe, turn_deg=20.0, tilt_deg=25.0)
    camera = make_camera(scene, np.random.default_rng(5), before=False)
    corners = camera.project(corners_mm(scene))
    ahead = corners[:2].mean(axis=0) - corners[2:].mean(axis=0)
    aim = {"left": (-1, 0), "right": (1, 0), "up": (0, -1), "down": (0, 1)}[toe]
    assert ahead @ aim / np.linalg.norm(ahead) > np.cos(np.radians(35))
    # Face up with the toe away, the right edge lies clockwise of the toe's way.
    across = corners[1] - corners[0]
    assert ahead[0] * across[1] - ahead[1] * across[0] > 0


def test_the_given_corners_bound_the_face_in_the_picture() -> None:
    # Bare and red metal on a green mat, by even light.
    scene = small(
        bench="mat",
        metal="steel",
        light="even",
        marker="red",
        tilt_deg=12.0,
        body="black",
    )
    made = render(scene)
    inside = np.zeros(made.before.shape[:2], dtype=np.uint8)
    cv2.fillConvexPoly(inside, np.round(made.before_corners_px).astype(np.int32), 1)
    redness = made.before[..., 2].astype(float) - made.before[..., 1]
    core = cv2.erode(inside, np.ones((7, 7))) > 0
    rim = (cv2.dilate(inside, np.ones((7, 7))) == 0) & (
        cv2.dilate(inside, np.ones((25, 25))) > 0
    )
    assert np.median(redness[core]) > np.percentile(redness[rim], 99)


def test_ink_that_is_gone_shows_bare_metal_there() -> None:
    worn = render(small(name="worn", cut_um=60.0, load_um=60.0, marker="blue"))
    kept = render(small(name="worn", cut_um=0.0, marker="blue"))
    flat = np.array([[0, 0], [410, 0], [410, 1520], [0, 1520]], dtype=np.float32)
    shares = []
    for made in (worn, kept):
        way = cv2.getPerspectiveTransform(
            made.after_corners_px.astype(np.float32), flat
        )
        seen = cv2.warpPerspective(made.after, way, (410, 1520))[700:1400, 40:370]
        light = seen.astype(float)
        shares.append(float(np.mean(light[..., 0] - light[..., 2] > 60)))
    assert shares[0] < 0.02
    assert shares[1] > 0.25


def test_what_lies_out_of_frame_is_unknown_and_a_finger_too() -> None:
    cut = render(small(fill=1.3))
    assert not cut.outline_whole
    assert cut.unknown[[0, -1]].min() > 0.5
    assert np.nanmax(cut.unknown[6:9]) < 0.3
    touched = render(small(finger=0.7))
    assert not touched.outline_whole
    assert touched.unknown[10, 3] > 0.5
    assert touched.unknown[10, 0] < 0.2
