"""A written PDF looked at as a reader of PDF sees it: pixels, and words with places."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pypdfium2
from numpy.typing import NDArray

DOTS_PER_IN = 300
PX_PER_MM = DOTS_PER_IN / 25.4
MM_PER_PT = 25.4 / 72


class Word(NamedTuple):
    """A run of text on a page, its place in mm from the lower left corner."""

    text: str
    left: float
    bottom: float
    right: float
    top: float


def page_px(path: Path, number: int = 0) -> NDArray[np.uint8]:
    """Give a page as grey pixels."""
    with pypdfium2.PdfDocument(path) as pdf:
        drawn = pdf[number].render(scale=DOTS_PER_IN / 72, grayscale=True)
        pixels = np.array(drawn.to_numpy(), dtype=np.uint8)
    return np.asarray(pixels.reshape(pixels.shape[:2]))


def pages(path: Path) -> int:
    """Give how many pages a file has."""
    with pypdfium2.PdfDocument(path) as pdf:
        return len(pdf)


def words(path: Path, number: int = 0) -> list[Word]:
    """Give the runs of text on a page."""
    found = []
    with pypdfium2.PdfDocument(path) as pdf:
        text = pdf[number].get_textpage()
        for index in range(text.count_rects()):
            box = text.get_rect(index)
            said = text.get_text_bounded(*box).strip()
            found.append(Word(said, *(side * MM_PER_PT for side in box)))
    return found
