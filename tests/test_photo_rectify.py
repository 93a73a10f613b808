"""The face straight on: corners to millimetres, no moiré, nothing made up outside."""

from __future__ import annotations

import re

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from skimage.transform import ProjectiveTransform

from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.corners import check_corners, parse_corners
from lapping.photo.rectify import (
    homography,
    natural_px_per_mm,
    rectify,
    to_photo,
)
from tests.made_photos import dotted, found_dot

SOLE = Face(length_mm=250, width_mm=60)
UNIT = Face(length_mm=1, width_mm=1)
LAID = np.array([(210.0, 92.0), (520.0, 130.0), (690.0, 1130.0), (60.0, 1010.0)])
Points = NDArray[np.float64]


def test_the_worked_case_of_square_to_quad() -> None:
    """Unit square to (0,0) (4,0) (3,2) (1,2), worked by hand after Heckbert (1989).

    With u along the first side and v along the other, H = [[4,2,0],[0,4,0],[0,1,1]];
    the centre goes to the crossing of the diagonals, (2, 4/3).
    """
    quad = np.array([(0.0, 0.0), (1.0, 2.0), (3.0, 2.0), (4.0, 0.0)])
    found = homography(quad, UNIT)
    np.testing.assert_allclose(found, [[4, 2, 0], [0, 4, 0], [0, 1, 1]], atol=1e-12)
    centre = to_photo(found, np.array(0.5), np.array(0.5))
    np.testing.assert_allclose(centre, (2, 4 / 3), atol=1e-12)


def skimage_matrix(places: Points, corners_px: Points) -> Points:
    """Ask skimage in the way of its release: 0.26 has another, and warns of the old."""
    if hasattr(ProjectiveTransform, "from_estimate"):
        return ProjectiveTransform.from_estimate(places, corners_px).params
    theirs = ProjectiveTransform()
    assert theirs.estimate(places, corners_px)
    return theirs.params


JIGGLE = st.lists(st.floats(-40, 40), min_size=8, max_size=8)


@settings(max_examples=50)
@given(JIGGLE)
def test_both_libraries_find_the_same_matrix(jiggle: list[float]) -> None:
    """Against skimage's ProjectiveTransform and OpenCV's getPerspectiveTransform."""
    corners = LAID + np.reshape(jiggle, (4, 2))
    found = homography(corners, SOLE)
    places = np.array([(0, 0), (0, 60), (250, 60), (250, 0)], float)
    theirs = skimage_matrix(places, corners)
    np.testing.assert_allclose(found, theirs, rtol=1e-6, atol=1e-8)
    opencv = cv2.getPerspectiveTransform(
        places.astype(np.float32), corners.astype(np.float32)
    )
    inside = np.array([(20.0, 10.0), (120.0, 33.0), (240.0, 55.0)])
    ours = to_photo(found, inside[:, 0], inside[:, 1])
    cvs = cv2.perspectiveTransform(inside[None], opencv)[0]
    np.testing.assert_allclose(ours, cvs, atol=1e-2)


def test_corners_on_a_line_have_no_matrix() -> None:
    with pytest.raises(ValueError, match="lie on a line"):
        homography(np.array([(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 3.0)]), SOLE)


@pytest.mark.parametrize(
    ("px_per_mm", "larger"), [(1.3, 1.0), (3.0, 1.0), (8.0, 1.0), (0.8, 2.0)]
)
def test_places_are_where_they_should_be(px_per_mm: float, larger: float) -> None:
    laid = LAID * larger
    matrix = homography(laid, SOLE)
    places = np.array([(20.0, 12.0), (125.0, 30.0), (230.0, 48.0), (200.0, 10.0)])
    dots = to_photo(matrix, places[:, 0], places[:, 1])
    photo = dotted(round(760 * larger), round(1200 * larger), dots, 4 * larger)
    found = rectify(photo, laid, SOLE, px_per_mm)
    rows, columns = round(250 * px_per_mm), round(60 * px_per_mm)
    assert found.picture.shape == (rows, columns, 3)
    assert found.inside.all()
    assert not found.picture.flags.writeable
    for along, across in places:
        near = np.array([across * columns / 60, along * rows / 250]) - 0.5
        dot = found_dot(found.picture, near, 6 * px_per_mm)
        seen = (dot[::-1] + 0.5) / px_per_mm
        # A perspective makes a round dot a little lopsided.
        np.testing.assert_allclose(seen, (along, across), atol=0.06)


def test_fine_stripes_become_grey_and_no_moire() -> None:
    """Stripes of 2 px at 2 px/mm of output from 11: averaged, they are even grey."""
    stripes = np.zeros((1200, 760, 3), np.uint8)
    stripes[:, ::2] = 200
    corners = np.array([(100.0, 50.0), (660.0, 50.0), (660.0, 1150.0), (100.0, 1150.0)])
    face = Face(length_mm=100, width_mm=50)
    seen = rectify(stripes, corners, face, 2.0).picture[3:-3, 3:-3].astype(float)
    assert abs(seen.mean() - 100) < 1
    assert seen.std() < 4
    # The same through OpenCV without averaging, so that the test can fail.
    matrix = homography(corners, face) @ [[0, 0.5, 0.25], [0.5, 0, 0.25], [0, 0, 1]]
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    plain = cv2.warpPerspective(stripes, matrix, (100, 200), flags=flags)
    assert plain.std() > 20


def test_a_steep_view_keeps_what_its_near_end_shows() -> None:
    """The far end is coarse and the near end fine: neither sets the other's detail."""
    corners = np.array([(500.0, 100.0), (600.0, 100.0), (900.0, 900.0), (200.0, 900.0)])
    rng = np.random.default_rng(3)
    photo = rng.integers(0, 255, (1000, 1100, 3), dtype=np.uint8)
    found = rectify(photo, corners, SOLE, 2.0).picture.astype(float)
    assert natural_px_per_mm(corners, SOLE) < 1.3
    # Noise of a photo finer than the output is averaged away, and only there.
    assert found[-100:].std() < 0.45 * found[:60].std()


def test_what_the_photo_does_not_show_is_marked() -> None:
    corners = LAID - (160, 0)
    found = rectify(np.full((1200, 760, 3), 90, np.uint8), corners, SOLE, 2.0)
    seen = to_photo(homography(corners, SOLE), np.array(200.25), np.array(0.25))
    assert seen[0] < 0
    assert not found.inside[400, 0]
    assert found.inside[0, 0]
    share = found.inside.mean()
    assert 0.8 < share < 0.99
    assert (found.picture[~found.inside] == 0).all()
    assert (found.picture[found.inside] == 90).all()
    nothing = rectify(np.full((50, 50, 3), 90, np.uint8), LAID, SOLE, 2.0)
    assert not nothing.inside.any()


def test_the_poorest_resolution_is_that_of_the_far_end() -> None:
    straight = np.array([(0.0, 0.0), (300.0, 0.0), (300.0, 1250.0), (0.0, 1250.0)])
    assert natural_px_per_mm(straight, SOLE) == pytest.approx(5)
    squat = straight * (1, 0.5)
    assert natural_px_per_mm(squat, SOLE) == pytest.approx(2.5)
    # Turning the photo changes nothing.
    assert natural_px_per_mm(straight @ [[0, 1], [-1, 0]], SOLE) == pytest.approx(5)


# Corners as people give them.


@pytest.mark.parametrize(
    "text",
    [
        "10,20 110,20 110,220.5 10,220",
        " 10,20;110, 20 ; 110 ,220.5  10,220 ",
        "+10,20\t110,20\n110,220.5 10.0,220",
    ],
)
def test_four_corners_are_read(text: str) -> None:
    expected = [(10, 20), (110, 20), (110, 220.5), (10, 220)]
    np.testing.assert_array_equal(parse_corners(text), expected)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "cannot be read"),
        ("corners", "cannot be read"),
        ("10,20 110,20 110,220", "3 corners were given and four are needed: toe-left"),
        ("10,20", "1 corner was given"),
        ("1,2 3,4 5,6 7,8 9,10", "5 corners were given"),
        ("10 20 110 20 110 220 10 220", "cannot be read"),
        ("10,20 110,20 110,220 10,220 toe", "cannot be read"),
        ("10mm,20 110,20 110,220 10,220", "cannot be read"),
        ("nan,20 110,20 110,220 10,220", "cannot be read"),
        ("1e999,20 110,20 110,220 10,220", "cannot be read"),
    ],
)
def test_other_corners_are_refused(text: str, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        parse_corners(text)


def seen_from(
    tilt: float, turn: float, away: float, face: Face, f: float = 1000.0
) -> Points:
    """Give the corners that a camera sees: pinhole, the face tilted and turned."""
    c, s = np.cos(np.radians(tilt)), np.sin(np.radians(tilt))
    lean = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    spin = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    half = np.array([face.width_mm / 2, face.length_mm / 2])
    flat = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * half
    space = np.column_stack([flat, np.zeros(4)]) @ (lean @ spin).T
    space[:, 2] += away
    return f * space[:, :2] / space[:, 2:] + (800, 600)


VIEWS = [(0, 0), (0, 90), (35, 0), (35, 90), (40, 30), (-40, 200), (20, -60)]


@pytest.mark.parametrize(("tilt", "turn"), VIEWS)
def test_corners_of_any_view_pass_and_length_for_width_is_seen(
    tilt: float, turn: float
) -> None:
    for face in (
        SOLE,
        Face(length_mm=600, width_mm=76),
        Face(length_mm=150, width_mm=40),
    ):
        corners = seen_from(tilt, turn, 2.2 * face.length_mm, face)
        size = {"width_px": 1600, "height_px": 1200}
        check_corners(corners, face, **size)
        swapped = Face(length_mm=face.width_mm, width_mm=face.length_mm)
        with pytest.raises(BadInput, match="are length and width swapped"):
            check_corners(corners, swapped, **size)
        with pytest.raises(BadInput, match="begin at another one than toe-left"):
            check_corners(np.roll(corners, 1, axis=0), face, **size)


def test_a_squarish_face_is_never_called_swapped() -> None:
    face = Face(length_mm=55, width_mm=50)
    for tilt, turn in VIEWS:
        corners = seen_from(tilt, turn, 200, face)
        check_corners(np.roll(corners, 1, axis=0), face, width_px=1600, height_px=1200)


@pytest.mark.parametrize(
    ("order", "move", "said"),
    [
        (
            (1, 0, 3, 2),
            {},
            "the wrong way round, as in a mirror|go round the wrong way",
        ),
        ((0, 2, 1, 3), {}, "the corners are crossed"),
        ((0, 1, 3, 2), {}, "the corners are crossed"),
        ((0, 1, 2, 3), {1: (211, 93)}, "toe-left and toe-right are at the same place"),
        ((0, 1, 2, 3), {0: (290, 570)}, "corner lies on a line with those beside it"),
        ((0, 1, 2, 3), {2: (250, 500)}, "heel-right corner lies inside the other"),
        ((0, 1, 2, 3), {3: (-500, 1010)}, "heel-left corner .* far outside the photo"),
        ((0, 1, 2, 3), {0: (float("nan"), 3)}, "toe-left corner .* far outside"),
    ],
)
def test_corners_that_no_photo_can_have(
    order: tuple[int, ...], move: dict[int, tuple[float, float]], said: str
) -> None:
    corners = LAID[list(order)].copy()
    for at, where in move.items():
        corners[at] = where
    with pytest.raises(BadInput) as bad:
        check_corners(corners, SOLE, width_px=760, height_px=1200)
    (sentence,) = bad.value.mistakes
    assert re.search(said, sentence), sentence


def test_a_corner_a_little_outside_is_fine() -> None:
    check_corners(LAID - (200, 0), SOLE, width_px=760, height_px=1200)
