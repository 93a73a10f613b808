"""The picture of a scribble: what was not seen shows, and the heights stand below."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.contour import QuadContourSet

from lapping.contact_map import contact_map, squares
from lapping.errors import BadInput
from lapping.photo.look import Look, Placed
from lapping.photo.turned import Picture
from lapping.pictures.contact import contact_picture
from tests.drawn import is_whole_and_legible, named, said
from tests.made_dial_files import solve


def look(name: str, unseen: float = 0.25) -> Look:
    """Give an invented photo of a face: its left half bore, a part of it has glare."""
    face = solve(name).face
    rows, columns = squares(face)
    across = (np.arange(columns) + 0.5) / columns
    ink = np.tile(np.where(across < 0.5, 0.1, 1.0), (rows, 1))
    seen = np.ones((rows, columns))
    seen[: round(unseen * rows)] = 0.0
    pixels = np.full((300, 1000, 3), 160, np.uint8)
    corners = np.array([(100.0, 250), (100, 60), (900, 60), (900, 250)])
    return Look(
        contact=contact_map(
            face, ink=ink, was=np.ones_like(ink), seen=seen, u=0.1, baseline="estimated"
        ),
        after=Placed(
            picture=Picture(
                pixels=pixels, reduced=1, width_px=1000, height_px=300, grey=False
            ),
            corners_px=corners,
            how="given",
            sure=1.0,
            warnings=(),
        ),
        before=None,
    )


def hatched(ax: Axes) -> QuadContourSet | None:
    found = [one for one in ax.collections if one.get_label() == "not seen"]
    only = found[0] if found else None
    assert only is None or isinstance(only, QuadContourSet)
    return only


def test_what_was_not_seen_is_veiled_and_hatched_in_both() -> None:
    figure = contact_picture(look("plain"))
    for name in ("straight on", "bore"):
        ax = named(figure, name)
        lost = hatched(ax)
        assert lost is not None
        assert lost.hatches == ["////"]
        veil = np.asarray(ax.images[-1].get_array())
        # Rows across, columns along: the quarter at the toe.
        opaque = veil[:, :, 3] > 0.5
        assert opaque[:, : round(0.24 * opaque.shape[1])].all()
        assert not opaque[:, round(0.26 * opaque.shape[1]) :].any()
    assert any("hatched: not seen" in text for text in said(figure))
    whole = contact_picture(look("plain", unseen=0.0))
    assert hatched(named(whole, "bore")) is None


def test_the_heights_stand_below_in_the_same_frame() -> None:
    found = solve("plain")
    figure = contact_picture(look("plain"), found)
    bore, heights = named(figure, "bore"), named(figure, "heights")
    for ask in (Axes.get_xlim, Axes.get_ylim):
        assert ask(bore) == ask(heights)
    above, below = bore.get_window_extent(), heights.get_window_extent()
    assert (above.x0, above.x1) == pytest.approx((below.x0, below.x1))
    assert below.y1 < above.y0
    low, high = named(figure, "height bar").get_xlim()
    assert high == -low
    assert "height bar" not in [
        ax.get_label() for ax in contact_picture(look("plain")).axes
    ]


def test_heights_of_another_face_are_refused() -> None:
    with pytest.raises(
        BadInput, match="a face 150 × 40 mm and the photo of one 250 × 60"
    ):
        contact_picture(look("plain"), solve("small"))


@pytest.mark.parametrize("name", ["plain", "small", "long", "side"])
def test_it_is_whole_and_legible(name: str) -> None:
    is_whole_and_legible(contact_picture(look(name), solve(name)))
