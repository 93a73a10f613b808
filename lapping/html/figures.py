"""Figures inside a page: line drawings as SVG, photos as small JPEG without EXIF."""

from __future__ import annotations

import base64
import io
import re
from html import escape

import matplotlib as mpl
from matplotlib.figure import Figure

from lapping.pictures.frame import UNDATED, plain_style

PHOTO_DOTS_PER_IN, QUALITY = 160, 78
TILES_DOTS_PER_IN, MOST_TILES = 180, 200
"""A surface of more tiles than this goes into the page as a picture of them."""
_SHARED = re.compile(r'(?:url\(#|href="#)([^)"]+)')
_ID = re.compile(r' id="([^"]*)"')
_BEFORE = re.compile(r"^.*?(?=<svg)", re.DOTALL)
_NOT_DRAWN = re.compile(
    r"<metadata>.*?</metadata>|<style.*?</style>|<!--.*?-->|<title>.*?</title>",
    re.DOTALL,
)


def as_svg(figure: Figure, name: str, says: str) -> str:
    """Give a figure as an element of a page; ``name`` is its own among its figures.

    ``says`` is read out in its place.
    """
    for ax in figure.axes:
        for one in ax.collections:
            if len(one.get_paths()) > MOST_TILES:
                one.set_rasterized(True)
    drawn = io.StringIO()
    with plain_style(), mpl.rc_context({"svg.fonttype": "none"}):
        figure.savefig(
            drawn, format="svg", metadata=UNDATED[".svg"], dpi=TILES_DOTS_PER_IN
        )
    text = _NOT_DRAWN.sub("", _BEFORE.sub("", drawn.getvalue()))
    # An id counts once in a page, and most of those drawn are nobody's.
    shared = set(_SHARED.findall(text))
    text = _ID.sub(lambda m: f' id="{name}-{m[1]}"' if m[1] in shared else "", text)
    text = text.replace("xlink:href", "href")
    text = re.sub(r'((?:url\(#|href="#))', rf"\1{name}-", text)
    said = f'<svg role="img" aria-label="{escape(says)}"'
    text = re.sub(r' xmlns(?::xlink)?="[^"]*"| version="[^"]*"', "", text, count=3)
    return re.sub(r"\n\s+", "\n", text.replace("<svg", said, 1)).strip()


def as_jpeg(figure: Figure, says: str) -> str:
    """Give a figure that holds photos as one small picture, with nothing from EXIF."""
    drawn = io.BytesIO()
    with plain_style():
        figure.savefig(
            drawn,
            format="jpeg",
            dpi=PHOTO_DOTS_PER_IN,
            pil_kwargs={"quality": QUALITY, "optimize": True},
        )
    coded = base64.b64encode(drawn.getvalue()).decode("ascii")
    return f'<img src="data:image/jpeg;base64,{coded}" alt="{escape(says)}">'
