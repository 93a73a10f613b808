"""The gallery is drawn anew from the samples, and its page shows all of it."""

from __future__ import annotations

import re
import runpy
from collections.abc import Callable
from pathlib import Path

import pytest
from matplotlib.figure import Figure
from PIL import Image

from tests.drawn import is_whole_and_legible

GALLERY = Path(__file__).resolve().parents[1] / "docs" / "gallery"
MOST_BYTES, WIDE_PX = 250_000, 600


@pytest.fixture(scope="module")
def pictures() -> dict[str, Callable[[], Figure]]:
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(GALLERY))
        found = runpy.run_path(str(GALLERY / "draw_gallery.py"))["PICTURES"]
    assert isinstance(found, dict)
    return found


def names() -> list[str]:
    return sorted(path.stem for path in GALLERY.glob("*.png"))


def test_the_page_shows_every_picture_with_words_for_it(
    pictures: dict[str, Callable[[], Figure]],
) -> None:
    shown = re.findall(r"!\[(.+?)\]\((\w+)\.png\)", (GALLERY / "README.md").read_text())
    assert sorted(name for _, name in shown) == names() == sorted(pictures)
    assert len({words for words, _ in shown}) == len(shown)


@pytest.mark.parametrize("name", names())
def test_each_is_drawn_as_it_hangs(
    pictures: dict[str, Callable[[], Figure]], name: str
) -> None:
    """The same size, so the same words and panels; pixels differ between machines."""
    figure = pictures[name]()
    is_whole_and_legible(figure)
    path = GALLERY / f"{name}.png"
    assert path.stat().st_size <= MOST_BYTES
    with Image.open(path) as hung:
        assert hung.width == WIDE_PX
        tall = figure.get_figheight() / figure.get_figwidth() * WIDE_PX
        assert hung.height == pytest.approx(tall, abs=1)
