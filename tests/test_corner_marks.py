"""Corner cards found in photos of known geometry."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from skimage import data

from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.card_fit import fit_cards
from lapping.photo.cards import CORNERS, mark_corners_mm, mark_squares
from lapping.photo.look import look
from lapping.photo.marks import Marks, find_marks
from tests.made_card_photos import CardPhoto, lay_out, photograph

FACE = Face(length_mm=250, width_mm=60)
NEAR_MM = 0.3


def shoot(face: Face, seed: int, *, turned_deg: float = 0.0, **laid: Any) -> CardPhoto:
    scene = lay_out(face.length_mm, face.width_mm, seed, **laid)
    return photograph(scene, face.length_mm, face.width_mm, seed, turned_deg=turned_deg)


def found(photo: CardPhoto, face: Face = FACE) -> Marks:
    marks = find_marks(photo.picture, face)
    assert marks is not None
    return marks


@pytest.mark.parametrize(
    ("seed", "size", "turned_deg"),
    [(1, (150, 40), 0), (2, (250, 60), 80), (3, (380, 70), 190), (4, (600, 76), -70)],
)
def test_the_corners_come_out_within_a_third_of_a_millimetre(
    seed: int, size: tuple[float, float], turned_deg: float
) -> None:
    """Whichever way the toe lies: the marks name their corners."""
    face = Face(length_mm=size[0], width_mm=size[1])
    slips = np.zeros((4, 3))
    slips[:, 2] = np.random.default_rng(seed).uniform(-1.5, 1.5, 4)
    photo = shoot(face, seed, turned_deg=turned_deg, slips=slips)
    marks = found(photo, face)
    assert photo.off_mm(marks.corners_px).max() < NEAR_MM
    assert marks.found == CORNERS
    assert marks.warnings == ()
    assert marks.residual_mm < 0.2
    assert marks.length_mm == pytest.approx(face.length_mm, rel=0.005)
    assert marks.width_mm == pytest.approx(face.width_mm, rel=0.01)


def test_three_cards_are_enough_and_it_is_said() -> None:
    photo = shoot(FACE, 5, cards=("toe-left", "", "heel-right", "heel-left"))
    marks = found(photo)
    assert photo.off_mm(marks.corners_px).max() < 2 * NEAR_MM
    assert marks.found == ("toe-left", "heel-right", "heel-left")
    assert "toe-right card cannot be read" in marks.warnings[0]
    assert {zone.name for zone in marks.covered} == {
        "toe-left card",
        "heel-right card",
        "heel-left card",
    }


def test_metal_under_the_lips_of_the_cards_is_not_told_of(tmp_path: Path) -> None:
    """White paper over the corners is neither ink nor rubbed metal."""
    path = tmp_path / "cards.png"
    assert cv2.imwrite(str(path), shoot(FACE, 7).picture)
    seen = look(path, FACE).contact.fine_unknown
    corners = np.ix_([0, -1], [0, -1])
    assert (seen[corners] == 1).all()
    # Two strips of 3 mm by 12 to each corner: past them all of it is seen.
    assert (seen[5:-5, :] == 0).all()
    assert (seen[:, 5:-5] == 0).all()


def test_two_cards_are_refused_and_none_is_no_mistake() -> None:
    photo = shoot(FACE, 6, cards=("toe-left", "", "heel-right", ""))
    with pytest.raises(BadInput, match="only toe-left and heel-right can be read"):
        find_marks(photo.picture, FACE)
    # No such mark is in the pictures that come with scikit-image.
    for picture in (data.astronaut(), data.coffee(), data.brick()):
        colour = picture if picture.ndim == 3 else cv2.merge([picture] * 3)
        assert find_marks(np.ascontiguousarray(colour), FACE) is None


def test_cards_at_the_wrong_corners_are_refused() -> None:
    swapped = ("toe-right", "toe-left", "heel-right", "heel-left")
    wide = Face(length_mm=300, width_mm=110)
    with pytest.raises(BadInput, match="do not lie at their corners"):
        find_marks(shoot(wide, 7, cards=swapped).picture, wide)
    # On a narrow face one covers the other, and three cards are left to tell it.
    with pytest.raises(BadInput, match="mm off a true rectangle"):
        find_marks(shoot(FACE, 7, cards=swapped).picture, FACE)
    ends = ("heel-left", "toe-right", "heel-right", "toe-left")
    with pytest.raises(BadInput, match="do not lie at their corners"):
        find_marks(shoot(FACE, 7, cards=ends).picture, FACE)
    turned = np.zeros((4, 3))
    turned[2, 2] = 180
    with pytest.raises(BadInput, match="do not lie at their corners"):
        find_marks(shoot(FACE, 7, slips=turned).picture, FACE)


def test_the_same_card_twice_is_refused() -> None:
    twice = ("toe-left", "toe-left", "heel-right", "heel-left")
    with pytest.raises(BadInput, match="toe-left is in the picture 2 times"):
        find_marks(shoot(FACE, 8, cards=twice).picture, FACE)


def test_sizes_that_cannot_be_are_said() -> None:
    photo = shoot(FACE, 9)
    wide = found(photo, Face(length_mm=250, width_mm=64))
    assert "250 × 60" in wide.warnings[0]
    assert "250 × 64 mm was given" in wide.warnings[0]
    with pytest.raises(BadInput, match="give them the other way round"):
        find_marks(photo.picture, Face(length_mm=60, width_mm=250))


def test_a_sheet_printed_too_small_is_noticed() -> None:
    """At 94 % all is found 1/0.94 too long; the corners stay where they are."""
    photo = shoot(FACE, 10, printed_at=0.94)
    marks = found(photo)
    assert "printed at 94 % of its size" in marks.warnings[0]
    assert marks.length_mm == pytest.approx(250 / 0.94, rel=0.005)
    # The marks are 0.06 × 7 mm nearer to the corner than the sheet has them.
    assert photo.off_mm(marks.corners_px).max() < 0.6


def test_a_card_that_slipped_or_was_turned_is_noticed() -> None:
    slips = np.zeros((4, 3))
    slips[1] = (5.0, 0.0, 9.0)
    said = " ".join(found(shoot(FACE, 11, slips=slips)).warnings)
    assert "off a true rectangle" in said
    assert "toe-right card is turned by" in said


def test_the_fit_gives_back_exact_places() -> None:
    """Marks put through OpenCV's perspectiveTransform; nothing is measured here."""
    true = np.array([[2.1, 0.3, 210.0], [-0.2, 2.4, 190.0], [2e-4, -3e-4, 1.0]])
    corners = np.array([[0, 0], [0, 60], [250, 60], [250, 0]], dtype=float)
    marks = {}
    for corner, degrees in enumerate((0.0, 1.0, -2.0, 0.7)):
        c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
        laid = mark_corners_mm(corner) @ np.array([[c, s], [-s, c]]) + corners[corner]
        marks[corner] = cv2.perspectiveTransform(laid[None], true)[0]
    fit = fit_cards(marks, 245.0, 62.0)
    np.testing.assert_allclose(fit.corners_mm, corners, atol=1e-5)
    np.testing.assert_allclose(fit.turns_deg, (0.0, 1.0, -2.0, 0.7), atol=1e-5)
    assert fit.residual_px < 1e-6


def test_the_four_marks_differ_however_they_are_turned() -> None:
    """16 of 36 squares or more, so that a few misread ones cannot make one another."""
    inner = [mark_squares(corner)[1:-1, 1:-1] for corner in range(4)]
    for one in range(4):
        for other in range(4):
            for turns in range(4):
                if one != other or turns:
                    apart = inner[one] != np.rot90(inner[other], turns)
                    assert apart.sum() >= 16
