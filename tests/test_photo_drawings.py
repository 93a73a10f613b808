"""Pictures that are no photos of a scribbled sole: a sentence, never a crash."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.errors import BadInput, LappingError
from lapping.face import Face, Mouth
from lapping.photo.drawings import refuse_drawing
from lapping.photo.look import look
from lapping.words.contact import contact_report

ROOT = Path(__file__).resolve().parents[1]
AFTER = ROOT / "sample_measurements" / "tansy_after.jpg"
TRUE = np.array([[214.9, 912.6], [143.5, 626.3], [1365.8, 286.4], [1455.5, 646.2]])
FACE = Face(length_mm=245, width_mm=62, mouth=Mouth(from_mm=80, to_mm=86))
HIGH, WIDE = 300, 640
Pixels = NDArray[np.uint8]
Y, X = np.mgrid[0:HIGH, 0:WIDE]


def grey(values: NDArray[np.floating] | NDArray[np.integer]) -> Pixels:
    return np.repeat(np.clip(values, 0, 255).astype(np.uint8)[..., None], 3, axis=2)


def noise(mean: float, spread: float) -> Pixels:
    return grey(np.random.default_rng(1).normal(mean, spread, (HIGH, WIDE)))


def page() -> Pixels:
    """Print lines of text on white, as a sheet does."""
    paper = np.full((HIGH, WIDE, 3), 255, np.uint8)
    for row in range(30, HIGH, 22):
        cv2.putText(paper, "12.5 mm  ____  0.05", (40, row), 0, 0.6, (0, 0, 0), 1)
    return cv2.rectangle(paper, (30, 90), (610, 240), (0, 0, 0), 2).astype(np.uint8)


PICTURES: dict[str, Callable[[], Pixels]] = {
    "white": lambda: grey(np.full((HIGH, WIDE), 255)),
    "black": lambda: grey(np.zeros((HIGH, WIDE))),
    "board": lambda: grey(255 * ((X // 20 + Y // 20) % 2)),
    "slope": lambda: grey((X + Y) * 0.2),
    "page": page,
    "glare": lambda: noise(254, 2),
    "night": lambda: noise(4, 3),
    "faint": lambda: noise(128, 1),
    "noise": lambda: noise(128, 60),
    "tiny": lambda: noise(128, 60)[:30, :40],
    "narrow": lambda: noise(128, 60)[:64],
}


def answered(*photos: Path, corners: NDArray[np.float64] | None) -> bool:
    """Look at one photo or two, and say if there was an answer or a nameless refusal.

    Anything but an answer or a sentence is an error.
    """
    given: NDArray[np.float64] | None = corners
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            seen = look(
                photos[0],
                FACE,
                before=photos[1] if photos[1:] else None,
                corners_px=given,
                before_corners_px=TRUE if given is not None and photos[1:] else None,
                toe=None if given is not None else "left",
            )
        except LappingError as refusal:
            return not any(str(photo) in str(refusal) for photo in photos)
        assert "Flatness not measured" in contact_report(seen.contact, ["one", "two"])
    return True


@pytest.mark.parametrize("name", PICTURES)
def test_any_picture_is_answered_or_refused(name: str, tmp_path: Path) -> None:
    picture = PICTURES[name]()
    high, wide = picture.shape[:2]
    photo = tmp_path / f"{name}.png"
    cv2.imwrite(str(photo), picture)
    inner = np.array([[0.1, 0.9], [0.1, 0.1], [0.9, 0.2], [0.9, 0.8]]) * (wide, high)
    beside = inner - (0.55 * wide, 0)
    told = [answered(photo, corners=at) for at in (None, inner, beside)]
    told.append(answered(photo, AFTER, corners=inner))
    if name in {"white", "black", "board", "page", "glare"}:
        assert not any(told)


@pytest.mark.parametrize("name", ["sole", "frame", "contact", "signs"])
def test_our_own_pictures_are_no_photos(name: str, tmp_path: Path) -> None:
    drawn = ROOT / "docs" / "pictures" / f"{name}.png"
    corners = np.array([[20, 20], [600, 20], [600, 800], [20, 800]], float)
    with pytest.raises(BadInput, match="no photo of a scribbled sole"):
        look(drawn, FACE, corners_px=corners)
    if name == "contact":
        # It has the photo itself in it.
        return
    again = tmp_path / "without_its_mark.png"
    cv2.imwrite(str(again), cv2.imread(str(drawn)))
    with pytest.raises(BadInput, match=r"does not look like|outline|--toe"):
        look(again, Face(length_mm=245, width_mm=62), toe="left")


def test_metal_is_no_drawing_and_its_levels_cut_to_a_few_are() -> None:
    photo = np.asarray(cv2.imread(str(AFTER)), np.uint8)
    refuse_drawing(photo, TRUE)
    few = np.asarray(photo // 64 * 64 + 32, np.uint8)
    with pytest.raises(BadInput, match="exactly even colour"):
        refuse_drawing(few, TRUE)
