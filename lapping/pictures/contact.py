"""The photo with the face found in it, and the face straight on with where it bore."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import LinearSegmentedColormap, Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from numpy.typing import NDArray

from lapping.answer import Answer
from lapping.contact_map import ContactMap
from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.look import Look, Placed
from lapping.photo.rectify import rectify
from lapping.pictures.frame import (
    WIDTH_IN,
    draw_frame,
    draw_outline,
    kind_of_file,
    plain_style,
    save_figure,
)
from lapping.pictures.heights import draw_heights
from lapping.pictures.marks import TEXT_PT, draw_colour_bar
from lapping.pictures.plan import plan_map
from lapping.places import corner_names

Array = NDArray[np.float64]

BORE = LinearSegmentedColormap.from_list("bore", ["#ffffff", "#f3b23a", "#7a1c00"])
"""Light to dark, so that a print without colours reads the same."""
BORE_LINE = "#d81b60"
LOST, VEIL = "#123a5c", (0.80, 0.86, 0.92, 0.75)
FACE_IN = (4.95, 2.6)
PHOTO_IN = (5.6, 4.0)
PX_PER_MM, MOST_PX = 3.0, 600
UNKNOWN = 0.5
"""A square of which more than this was not seen is hatched."""


def save_contact(seen: Look, path: Path, found: Answer | None = None) -> None:
    """Draw what was found to a .png, .svg or .pdf file; BadInput where it cannot be."""
    kind_of_file(path)
    save_figure(contact_picture(seen, found), path)


def contact_picture(seen: Look, found: Answer | None = None) -> Figure:
    """Draw the photo with the face found, the face straight on, and where it bore.

    With an answer for the same face its height map stands below, place under place;
    BadInput where it is for another.
    """
    face = seen.contact.face
    if found is not None and _size(found.face) != _size(face):
        message = (
            f"the readings are of a face {_size(found.face)} and the photo of one "
            f"{_size(face)}; they cannot stand below each other"
        )
        raise BadInput(message)
    with plain_style():
        return _page(seen, found)


def _page(seen: Look, found: Answer | None) -> Figure:
    face = seen.contact.face
    photo = _small(seen.after)
    tall, wide = photo.shape[:2]
    photo_in = min(PHOTO_IN[0] / wide, PHOTO_IN[1] / tall)
    face_in = min(FACE_IN[0] / face.length_mm, FACE_IN[1] / face.width_mm)
    across, along = face.width_mm * face_in, face.length_mm * face_in
    page = 0.55 + tall * photo_in + 2 * (across + 0.8) + 0.85
    if found is not None:
        page += across + 1.9
    figure = Figure(figsize=(WIDTH_IN, page))

    def axes(left: float, top: float, width: float, height: float, name: str) -> Axes:
        box = (left / WIDTH_IN, 1 - (top + height) / page)
        return figure.add_axes((*box, width / WIDTH_IN, height / page), label=name)

    y = 0.15
    figure.text(0.2 / WIDTH_IN, 1 - y / page, _title(seen), va="top", weight="bold")
    y += 0.35
    left = (WIDTH_IN - wide * photo_in) / 2
    _draw_photo(axes(left, y, wide * photo_in, tall * photo_in, "photo"), seen, photo)
    y += tall * photo_in + 0.45
    left = (WIDTH_IN - along) / 2
    straight = axes(left, y, along, across, "straight on")
    _draw_straight(straight, seen)
    y += across + 0.8
    bore = axes(left, y, along, across, "bore")
    _draw_bore(bore, seen.contact)
    y += across + 0.55
    bar = axes(0.7, y, 4.6, 0.13, "colour bar")
    colours = ScalarMappable(Normalize(0, 100), BORE)
    drawn = figure.colorbar(colours, cax=bar, orientation="horizontal")
    drawn.set_label("ink rubbed off, %      hatched: not seen")
    if found is not None:
        y += 1.2
        heights = axes(left, y, along, across, "heights")
        plan = plan_map(found)
        draw_heights(heights, plan)
        draw_outline(heights, face)
        draw_frame(heights, face)
        y += across + 0.75
        bar = axes(0.7, y, 4.6, 0.13, "height bar")
        draw_colour_bar(figure, bar, plan.levels_um)
    return figure


def _size(face: Face) -> str:
    return f"{face.length_mm:g} × {face.width_mm:g} mm"


def _title(seen: Look) -> str:
    share = seen.contact.contact_percent
    if share is None:
        return "Cannot tell where it bears: too little of the face was seen"
    return f"{share:.0f} % of the face bears"


def _small(placed: Placed) -> NDArray[np.uint8]:
    """Give the photo as red, green, blue, averaged down to the page."""
    pixels = placed.picture.pixels
    step = max(1, -(-max(pixels.shape[:2]) // MOST_PX))
    tall, wide = (n // step for n in pixels.shape[:2])
    blocks = pixels[: tall * step, : wide * step, ::-1].reshape(
        tall, step, wide, step, 3
    )
    return np.asarray(blocks.mean(axis=(1, 3)), np.uint8)


def _draw_photo(ax: Axes, seen: Look, photo: NDArray[np.uint8]) -> None:
    placed = seen.after
    tall, wide = placed.picture.height_px, placed.picture.width_px
    ax.imshow(photo, extent=(-0.5, wide - 0.5, tall - 0.5, -0.5), aspect="auto")
    ax.add_patch(
        Polygon(placed.corners_px, fill=False, ec=BORE_LINE, lw=1.6, label="face")
    )
    middle = placed.corners_px.mean(axis=0)
    for (x, y), name in zip(
        placed.corners_px.tolist(), corner_names(seen.contact.face), strict=True
    ):
        ax.annotate(
            name,
            (x, y),
            # Towards the middle, so that no name leaves the page.
            xytext=(0.8 * x + 0.2 * middle[0], 0.8 * y + 0.2 * middle[1]),
            ha="center",
            va="center",
            size=TEXT_PT,
            bbox={"boxstyle": "round,pad=0.15", "fc": "white", "ec": BORE_LINE},
            clip_on=True,
        )
    ax.set_xlim(-0.5, wide - 0.5)
    ax.set_ylim(tall - 0.5, -0.5)
    ax.set_axis_off()


def _draw_straight(ax: Axes, seen: Look) -> None:
    contact = seen.contact
    face, view = contact.face, seen.after.view
    flat = rectify(view.pixels, view.corners_px, face, PX_PER_MM).picture
    extent = (0.0, face.length_mm, 0.0, face.width_mm)
    # Rows run along from the toe: turned so that the toe is at the left.
    turned = flat[:, :, ::-1].transpose(1, 0, 2)
    ax.imshow(turned, extent=extent, origin="lower", aspect="auto")
    along, across = _middles(contact)
    rubbed = np.nan_to_num(contact.fine_filled)
    line = ax.contour(along, across, rubbed.T, [0.5], colors=BORE_LINE)
    line.set(linewidth=1.2, label="half of the ink is gone")
    _hatch_unknown(ax, contact)
    draw_outline(ax, face)
    draw_frame(ax, face)


def _draw_bore(ax: Axes, contact: ContactMap) -> None:
    face = contact.face
    extent = (0.0, face.length_mm, 0.0, face.width_mm)
    ax.imshow(
        100 * contact.fine_filled.T,
        extent=extent,
        origin="lower",
        aspect="auto",
        cmap=BORE,
        norm=Normalize(0, 100),
        interpolation="nearest",
    )
    _hatch_unknown(ax, contact)
    draw_outline(ax, face)
    draw_frame(ax, face)


def _hatch_unknown(ax: Axes, contact: ContactMap) -> None:
    """Veil and hatch what was not seen, so that it looks neither inked nor worn."""
    # The mouth and the holes are no metal, and nothing to be seen.
    metal = np.isfinite(contact.fine_unknown)
    lost = np.where(metal & np.isnan(contact.fine_filled), 1.0, 0.0)
    if not (lost > UNKNOWN).any():
        return
    face = contact.face
    veil = np.where(lost[:, :, None] > UNKNOWN, VEIL, (0.0, 0.0, 0.0, 0.0))
    ax.imshow(
        veil.transpose(1, 0, 2),
        extent=(0.0, face.length_mm, 0.0, face.width_mm),
        origin="lower",
        aspect="auto",
        interpolation="nearest",
        zorder=1.8,
    )
    along, across = _middles(contact)
    blank = ax.contourf(
        along, across, lost.T, [UNKNOWN, 2], colors=["none"], hatches=["////"], zorder=2
    )
    blank.set(edgecolor=LOST, linewidth=0, label="not seen")


def _middles(contact: ContactMap) -> tuple[Array, Array]:
    rows, columns = contact.fine_rubbed.shape
    face = contact.face
    return (
        (np.arange(rows) + 0.5) * face.length_mm / rows,
        (np.arange(columns) + 0.5) * face.width_mm / columns,
    )
