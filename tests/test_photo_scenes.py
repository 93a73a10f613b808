"""The pretended photos: their truth against geometry and counting done another way."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.face import Face, Mouth
from tests.photo_scenes import Scene, few_scenes, render, scenes
from tests.photo_scenes.catalogue import small
from tests.photo_scenes.faces import BLOCK
from tests.photo_scenes.inks import INKS, blended
from tests.photo_scenes.optics import TURNS, face_corners_mm, placed
from tests.photo_scenes.plot import plot
from tests.photo_scenes.render import truth
from tests.photo_scenes.scene import Camera, Pattern, Shot, Toe, Wear
from tests.photo_scenes.sensor import developed
from tests.photo_scenes.surface import Worked, worked

TINY_PX = 480
FINE = 8.0


def scene(seed: int) -> Scene:
    return next(s for s in scenes() if s.seed == seed)


def tiny(seed: int) -> Scene:
    """Give the scene on a small face and in a small picture: quick to draw."""
    return small(replace(scene(seed), face=BLOCK), TINY_PX)


@cache
def shot(seed: int) -> Shot:
    return render(tiny(seed))


@cache
def work(wear: Wear, seed: int = 101) -> Worked:
    one = replace(scene(seed), wear=wear)
    return worked(one, plot(one.face, FINE))


def test_there_are_enough_scenes_and_all_sorts_of_them() -> None:
    every = scenes()
    assert len(every) >= 48
    assert len({s.name for s in every}) == len({s.seed for s in every}) == len(every)
    assert all(n >= 12 for n in Counter(s.difficulty for s in every).values())
    assert len({s.metal for s in every}) >= 8
    # No marker, light, toe or mixing is so frequent that it decides the figures.
    for sort, most in (
        (Counter(s.marker for s in every), 0.4),
        (Counter(s.camera.toe for s in every), 0.45),
        (Counter(s.scribble.blend for s in every), 0.5),
        (Counter(s.ground for s in every), 0.3),
        (Counter(s.wear.pattern for s in every), 0.2),
    ):
        assert max(sort.values()) <= most * len(every)
    assert {s.marker for s in every} == set(INKS)
    assert min(s.face.length_mm for s in every) <= 150
    assert max(s.face.length_mm for s in every) >= 600
    assert sum(max(s.camera.size_px) >= 4000 for s in every) >= 3


def test_the_few_are_six_and_small() -> None:
    few = few_scenes()
    assert len(few) == 6
    assert all(max(s.camera.size_px) <= 1400 for s in few)


def test_angles_bows_and_qualities_stay_within_what_phones_do() -> None:
    for one in scenes():
        assert abs(one.camera.turn_deg) <= 25
        assert abs(one.camera.bow_percent) <= 0.3
        assert 60 <= one.developing.jpeg <= 95
        assert 1.5 <= one.scribble.line_mm <= 8


@pytest.mark.parametrize(("pattern", "rubbed"), [("none", 0.0), ("all", 1.0)])
@pytest.mark.parametrize("seed", [101, 212, 306, 318])
def test_an_unrubbed_face_keeps_all_ink_and_a_worn_one_none(
    pattern: Pattern, rubbed: float, seed: int
) -> None:
    done = work(replace(scene(seed).wear, pattern=pattern), seed)
    cells, percent = truth(done)
    assert np.isfinite(cells).any()
    np.testing.assert_array_equal(cells[np.isfinite(cells)], rubbed)
    assert percent == 100 * rubbed


def test_ink_is_neither_made_nor_lost() -> None:
    done = work(scene(101).wear)
    assert (done.kept >= 0).all()
    assert (done.kept <= 1).all()
    cells, percent = truth(done)
    # Counted square by square, without the sums over cells that made the truth.
    rows, columns = done.plot.cells
    at_row = np.arange(done.plot.shape[0]) * rows // done.plot.shape[0]
    at_column = np.arange(done.plot.shape[1]) * columns // done.plot.shape[1]
    number = at_row[:, None] * columns + at_column[None, :]
    had = np.bincount(number.ravel(), done.ink.ravel(), rows * columns)
    left = np.bincount(number.ravel(), (done.ink * done.kept).ravel(), rows * columns)
    np.testing.assert_allclose(cells.ravel(), 1 - left / had, atol=1e-5)
    metal = np.bincount(number.ravel(), done.plot.metal.ravel(), rows * columns)
    assert percent == pytest.approx(
        100 * np.average(1 - left / had, weights=metal), abs=1e-3
    )


def test_ink_thins_evenly_as_the_wear_says() -> None:
    # The cuts of the paper are drawn, so that the mean holds only nearly.
    for share in (0.25, 0.5, 0.75):
        done = work(Wear(pattern="even", share=share))
        assert truth(done)[1] == pytest.approx(100 * share, abs=2)


@pytest.mark.parametrize("share", [0.2, 0.6])
def test_more_of_the_face_bears_where_more_was_asked_for(share: float) -> None:
    done = work(Wear(pattern="patchy", share=share, edge_mm=4))
    assert float(done.wear.mean()) == pytest.approx(share, abs=0.05)


def test_no_ink_and_no_truth_where_there_is_no_metal() -> None:
    one = scene(211)
    squares = plot(one.face, FINE)
    rng = np.random.default_rng(5)
    high, wide = squares.shape
    for i, j in zip(
        rng.integers(0, high, 400), rng.integers(0, wide, 400), strict=True
    ):
        along, across = squares.along_mm()[i, 0], squares.across_mm()[0, j]
        assert squares.metal[i, j] == one.face.is_metal(float(along), float(across))
    done = worked(one, squares)
    assert not done.ink[squares.metal == 0].any()
    # A mouth that takes up whole cells leaves nothing to say of them.
    face = replace(one.face, mouth=Mouth(from_mm=40, to_mm=64))
    cells, _ = truth(worked(replace(one, face=face), plot(face, FINE)))
    assert cells.shape == (23, 6)  # 230 mm × 55 mm in cells of about 10 mm
    assert np.isnan(cells[4:6]).all()


@pytest.mark.parametrize("seed", [108, 204, 305, 316])
def test_corners_are_where_a_general_library_projects_them(seed: int) -> None:
    # cv2.projectPoints has the same pinhole with radial terms (its first is k1).
    one = scene(seed)
    pose = placed(one.camera, one.face)
    corners = face_corners_mm(one.face)
    middle = pose.middle_px
    lens = np.array(
        [[pose.focal_px, 0, middle[0]], [0, pose.focal_px, middle[1]], [0, 0, 1]]
    )
    turned, _ = cv2.Rodrigues(pose.turn)
    expected, _ = cv2.projectPoints(
        corners,
        turned,
        -pose.turn @ pose.eye_mm,
        lens,
        np.array([pose.radial, 0, 0, 0, 0], float),
    )
    np.testing.assert_allclose(pose.seen_at_px(corners), expected[:, 0], atol=1e-6)


def test_pixels_look_at_the_places_that_are_seen_at_them() -> None:
    one = scene(316)
    pose = placed(one.camera, one.face)
    across, along = pose.on_plane(pose.rays(), 0.0)
    at = np.array([[3, 5], [2000, 1400], [3990, 20], [700, 2990]])
    places = np.array([[across[d, r], along[d, r], 0.0] for r, d in at])
    np.testing.assert_allclose(pose.seen_at_px(places), at, atol=0.01)


@pytest.mark.parametrize("toe", list(TURNS))
def test_the_toe_points_where_it_was_told_to(toe: Toe) -> None:
    pose = placed(
        Camera(size_px=(1200, 1200), toe=toe), Face(length_mm=200, width_mm=60)
    )
    corners = pose.seen_at_px(face_corners_mm(Face(length_mm=200, width_mm=60)))
    to_toe = corners[:2].mean(axis=0) - corners[2:].mean(axis=0)
    way = {"up": (0, -1), "down": (0, 1), "left": (-1, 0), "right": (1, 0)}[toe]
    assert to_toe @ way > 0.95 * np.linalg.norm(to_toe)
    # Seen face up and not mirrored: clockwise in the picture, whose rows run down.
    a, b = corners[1] - corners[0], corners[3] - corners[0]
    assert a[0] * b[1] - a[1] * b[0] > 0


def test_a_lens_bows_an_edge_of_the_frame_no_more_than_it_says() -> None:
    camera = Camera(bow_percent=0.3)
    pose = placed(camera, scene(101).face)
    wide, high = camera.size_px
    # A straight line that would run along the upper edge, through the pinhole alone.
    right = np.linspace(-0.5, 0.5, 201) * wide / pose.focal_px
    up = np.full_like(right, -high / 2 / pose.focal_px)
    bent = up * (1 + pose.radial * (right**2 + up**2)) * pose.focal_px
    assert np.ptp(bent) == pytest.approx(0.003 * wide, rel=0.01)


def test_the_picture_shows_the_corners_where_they_are_said_to_be() -> None:
    seen = shot(108)
    grey = cv2.cvtColor(seen.after, cv2.COLOR_BGR2GRAY).astype(float)
    corners = seen.after_corners_px
    middle = corners.mean(axis=0)
    for corner in corners:
        # 4 % towards the middle lies metal, 4 % beyond lies the darker mat.
        inside, outside = (
            corner + 0.04 * (middle - corner),
            corner * 1.04 - 0.04 * middle,
        )
        assert _around(grey, inside) > 1.25 * _around(grey, outside)


def _around(grey: NDArray[np.float64], place: NDArray[np.float64]) -> float:
    right, down = np.round(place).astype(int)
    return float(grey[down - 1 : down + 2, right - 1 : right + 2].mean())


def test_the_same_scene_is_the_same_to_the_byte_and_another_seed_is_not() -> None:
    first, again = shot(101), render(tiny(101))
    np.testing.assert_array_equal(first.after, again.after)
    np.testing.assert_array_equal(first.before, again.before)
    np.testing.assert_array_equal(first.rubbed, again.rubbed)
    other = worked(replace(scene(101), seed=7), plot(scene(101).face, FINE))
    assert not np.array_equal(other.ink, work(scene(101).wear).ink)


def test_both_photos_show_the_face_from_different_places() -> None:
    seen = shot(101)
    assert seen.after.dtype == np.uint8
    assert seen.after.shape == seen.before.shape == (TINY_PX * 3 // 4, TINY_PX, 3)
    far = np.linalg.norm(seen.after_corners_px - seen.before_corners_px, axis=1)
    assert far.max() > 1


def test_what_leaves_the_frame_is_told_to_be_unknown() -> None:
    one = tiny(312)
    cut = render(replace(one, camera=replace(one.camera, bow_percent=0.0)))
    assert not cut.outline_whole
    # The frame laid over the face, and how much of each cell in the first row it
    # leaves out: areas by cv2's clipping of convex shapes.
    face, (wide, high) = one.face, one.camera.size_px
    edge = np.array(
        [[-0.5, -0.5], [wide - 0.5, -0.5], [wide - 0.5, high - 0.5], [-0.5, high - 0.5]]
    )
    to_face = cv2.getPerspectiveTransform(
        cut.after_corners_px.astype(np.float32),
        face_corners_mm(face)[:, :2].astype(np.float32),
    )
    frame = cv2.perspectiveTransform(edge[None], to_face)[0].astype(np.float32)
    for k, unknown in enumerate(cut.unknown[0]):
        cell = np.array([[k, 0], [k + 1, 0], [k + 1, 1], [k, 1]], np.float32) * 10
        area, _ = cv2.intersectConvexConvex(frame, cell)
        assert 0.1 < unknown < 0.9
        assert unknown == pytest.approx(1 - area / 100, abs=0.02)
    whole = shot(108)
    assert whole.outline_whole
    assert np.nanmean(whole.unknown) < 0.01


def test_ink_weakens_colours_as_bouguer_lambert_has_it() -> None:
    # Twice the ink squares what gets through; worked by hand from exp(-a d).
    one = np.ones((1, 1, 3), np.float32)
    none = np.zeros_like(one)

    def through(ink: float, kept: float) -> NDArray[np.float64]:
        amount = np.full((1, 1), ink, np.float32)
        share = np.full((1, 1), kept, np.float32)
        return np.asarray(
            blended(one, one, amount, share, "red", none, none, "density")[0, 0], float
        )

    np.testing.assert_allclose(through(2, 1), through(1, 1) ** 2, rtol=1e-5)
    np.testing.assert_allclose(through(2, 0.5), through(1, 1), rtol=1e-5)
    # By area, half the ink gone is half-way to bare metal.
    amount, half = np.ones((1, 1), np.float32), np.full((1, 1), 0.5, np.float32)
    mixed = blended(one, one, amount, half, "red", none, none, "areal")[0, 0]
    np.testing.assert_allclose(mixed, (1 + through(1, 1)) / 2, rtol=1e-5)


def test_colours_come_through_the_mosaic_unswapped() -> None:
    one = scene(101)
    light = np.full((64, 64, 3), (0.05, 0.1, 0.3), np.float32)
    how = replace(one.developing, noise=0.0, white=(1.0, 1.0))
    seen = developed(light, one.camera, how, np.random.default_rng(1))
    blue, green, red = seen.reshape(-1, 3).mean(axis=0)
    assert blue < green < red


def test_few_scenes_differ_in_what_matters() -> None:
    few = few_scenes()
    assert len({s.marker for s in few}) >= 3
    assert {"all"} < {s.wear.pattern for s in few}
    assert len({s.scribble.course for s in few}) > 1
