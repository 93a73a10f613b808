"""Corners put in order: by the word of the person, or by the slot of the mouth."""

from __future__ import annotations

import numpy as np
import pytest

from lapping.errors import BadInput
from lapping.face import Face, Mouth
from lapping.photo.toe import Ordered, Toe, check_toe, corners_in_order
from tests.made_face_photos import FacePhoto, photo_of

SOLE = Face(length_mm=250, width_mm=60, mouth=Mouth(from_mm=80, to_mm=86))
SIDE = Face(length_mm=200, width_mm=60, kind="side")
TURNS: dict[Toe, float] = {"up": 10.0, "right": 95.0, "down": 170.0, "left": -80.0}


def small(face: Face, turned_deg: float, seed: int = 3) -> FacePhoto:
    return photo_of(
        face, seed, bench="coffee", turned_deg=turned_deg, size=(640, 640), fill=0.75
    )


@pytest.fixture(scope="module")
def photos() -> dict[Toe, FacePhoto]:
    return {toe: small(SOLE, turned) for toe, turned in TURNS.items()}


def is_right(found: Ordered, photo: FacePhoto) -> bool:
    return bool(np.allclose(found.corners_px, photo.corners_px))


@pytest.mark.parametrize("toe", list(TURNS))
def test_the_toe_is_where_it_is_said_to_be(
    photos: dict[Toe, FacePhoto], toe: Toe
) -> None:
    photo = photos[toe]
    for start in range(4):
        for corners in (photo.corners_px, photo.corners_px[::-1]):
            given = np.roll(corners, start, axis=0)
            found = corners_in_order(photo.picture, given, SOLE, toe)
            assert is_right(found, photo)
            assert found.warnings == ()


@pytest.mark.parametrize("toe", list(TURNS))
def test_the_mouth_shows_the_toe(photos: dict[Toe, FacePhoto], toe: Toe) -> None:
    photo = photos[toe]
    for start in (0, 2):
        given = np.roll(photo.corners_px, start, axis=0)
        found = corners_in_order(photo.picture, given, SOLE)
        assert is_right(found, photo)
        assert found.confidence > 0.8
        assert found.warnings == ()


def test_a_mouth_that_was_not_given_decides_with_a_warning(
    photos: dict[Toe, FacePhoto],
) -> None:
    photo = photos["left"]
    plain = Face(length_mm=250, width_mm=60)
    found = corners_in_order(photo.picture, photo.corners_px[::-1], plain)
    assert is_right(found, photo)
    assert "taken for the toe" in found.warnings[0]
    assert "83 mm" in found.warnings[0] or "82 mm" in found.warnings[0]


def test_where_nothing_tells_the_toe_it_is_asked_for() -> None:
    side = small(SIDE, 88.0)
    with pytest.raises(BadInput, match=r"nothing on a side .* --toe left"):
        corners_in_order(side.picture, side.corners_px, SIDE)
    # The same picture as a sole: there is no slot on it.
    bare = np.full_like(side.picture, 150)
    with pytest.raises(BadInput, match="no mouth is to be seen"):
        corners_in_order(bare, side.corners_px, Face(length_mm=200, width_mm=60))
    known = Face(length_mm=200, width_mm=60, mouth=Mouth(from_mm=60, to_mm=66))
    with pytest.raises(BadInput, match=r"mouth at 60 to 66 mm .* cannot be told"):
        corners_in_order(bare, side.corners_px, known)
    central = Face(length_mm=200, width_mm=60, mouth=Mouth(from_mm=97, to_mm=103))
    with pytest.raises(BadInput, match="in the middle"):
        corners_in_order(side.picture, side.corners_px, central)


def test_a_toe_where_no_end_lies_is_refused(photos: dict[Toe, FacePhoto]) -> None:
    photo = photos["left"]
    with pytest.raises(BadInput, match=r"250 mm long .* runs left and right"):
        corners_in_order(photo.picture, photo.corners_px, SOLE, "up")


def test_length_and_width_swapped_is_a_sentence(photos: dict[Toe, FacePhoto]) -> None:
    photo = photos["left"]
    swapped = Face(length_mm=60, width_mm=250)
    with pytest.raises(BadInput, match=r"60 mm long .* the other way round"):
        corners_in_order(photo.picture, photo.corners_px, swapped, "left")


def test_a_square_face_goes_by_the_word() -> None:
    """Any of its sides may be the end; the word decides."""
    square = Face(length_mm=100, width_mm=100, kind="lap")
    corners = np.array([[100.0, 80], [400, 80], [400, 380], [100, 380]])
    picture = np.zeros((480, 640, 3), np.uint8)
    turns: tuple[Toe, ...] = ("up", "right", "down", "left")
    for start, toe in enumerate(turns):
        found = corners_in_order(picture, corners, square, toe)
        np.testing.assert_allclose(found.corners_px, np.roll(corners, -start, axis=0))


@pytest.mark.parametrize(("toe", "turned_deg"), list(TURNS.items()))
def test_corners_in_order_and_the_word_must_agree(toe: Toe, turned_deg: float) -> None:
    """Whichever end the corners begin with is the toe, and lies where it is seen."""
    turn = np.radians(turned_deg)
    turned = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    sole = np.array([[-30.0, -125], [30, -125], [30, 125], [-30, 125]]) @ turned
    check_toe(sole, SOLE, toe)
    for other in TURNS:
        if other != toe:
            with pytest.raises(BadInput, match=f"toe lies {toe} .* --toe {other} was"):
                check_toe(sole, SOLE, other)


def test_a_face_that_lies_aslant_may_be_called_either_way() -> None:
    aslant = np.array([[-1.0, -0.6], [-0.6, -1.0], [1.0, 0.6], [0.6, 1.0]])
    check_toe(aslant, SOLE, "left")
    check_toe(aslant, SOLE, "up")
    with pytest.raises(BadInput, match="begin the corners with toe-left"):
        check_toe(aslant, SOLE, "right")
