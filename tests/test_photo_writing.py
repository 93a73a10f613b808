"""Pictures to files: pixels only, and whole."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lapping.errors import BadInput
from lapping.photo.reading import read_photo
from lapping.photo.writing import write_picture
from tests.made_photos import exif, packed, textured


@pytest.mark.parametrize("ending", [".png", ".jpg", ".JPEG"])
def test_where_a_photo_was_taken_is_not_written(tmp_path: Path, ending: str) -> None:
    original = tmp_path / "original.jpg"
    original.write_bytes(packed(textured(64, 48), exif=exif(6), comment=b"at home"))
    with Image.open(original) as image:
        assert image.getexif().get_ifd(0x8825)[1] == "N"
    path = tmp_path / f"copy{ending}"
    picture = read_photo(original)
    write_picture(path, picture.pixels)
    with Image.open(path) as image:
        assert image.size == (48, 64)
        assert not image.getexif()
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    content = path.read_bytes()
    for said in (b"Exif", b"eXIf", b"GPS", b"invented", b"at home"):
        assert said not in content
    again = read_photo(path).pixels
    assert np.abs(again.astype(int) - picture.pixels).mean() < (
        0.1 if ending == ".png" else 4
    )


def test_a_picture_that_cannot_be_written(tmp_path: Path) -> None:
    pixels = textured(64, 48)
    for path, said in (
        (tmp_path / "copy.gif", r"must end in \.png, \.jpg or \.jpeg"),
        (tmp_path / "copy", r"must end in"),
        (tmp_path / "none" / "copy.png", "there is no folder"),
        (tmp_path, "is a folder"),
        (tmp_path / f"{'n' * 300}.png", "cannot be written"),
    ):
        with pytest.raises(BadInput, match=said):
            write_picture(path, pixels)
    with pytest.raises(BadInput, match="70000 × 1 pixels cannot be written"):
        write_picture(tmp_path / "wide.jpg", np.zeros((1, 70_000, 3), np.uint8))
    assert list(tmp_path.iterdir()) == []
