"""Look at a photo of a scribbled face, or two: find the face, and where it bore."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from lapping.contact_map import ContactMap
from lapping.errors import BadInput
from lapping.face import Face, Zone
from lapping.photo.contact import View, contact_of
from lapping.photo.corners import check_corners
from lapping.photo.drawings import refuse_drawing
from lapping.photo.marks import find_marks
from lapping.photo.outline import find_outline
from lapping.photo.reading import named, read_both, read_photo
from lapping.photo.rectify import natural_px_per_mm
from lapping.photo.toe import Toe, check_toe, corners_in_order
from lapping.photo.turned import Picture, Points

Found = Literal["given", "marks", "outline"]
ENOUGH, FILLS, TOO_FEW = 3.2, 0.8, 2.4
"""The face is sampled with 3.3 pixels to the millimetre: a large photo is read at a
quarter of its size if that leaves so many where the face fills so much of it, and once
more at half its size if it then has too few somewhere."""
COARSE = 2.0
"""Fewer pixels than this to the millimetre blur lines and gaps into one another."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placed:
    """Where the face lies in a photo: corners (4, 2) in the full upright picture.

    They are toe-left, toe-right, heel-right and heel-left; ``sure`` is 0 to 1.
    ``covered`` are the parts of the face under the lips of corner cards.
    """

    picture: Picture
    corners_px: Points
    how: Found
    sure: float
    warnings: tuple[str, ...]
    covered: tuple[Zone, ...] = ()

    @property
    def view(self) -> View:
        """Give the pixels as read with the corners in them."""
        corners = self.picture.to_pixels(self.corners_px)
        return View(
            pixels=self.picture.pixels, corners_px=corners, covered=self.covered
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Look:
    """What photos of a scribbled face show: where it is in them, and where it bore."""

    contact: ContactMap
    after: Placed
    before: Placed | None

    @property
    def corners_px(self) -> Points:
        """Give the face's corners in the after photo."""
        return self.after.corners_px


def look(
    after: Path,
    face: Face,
    *,
    before: Path | None = None,
    corners_px: Points | None = None,
    before_corners_px: Points | None = None,
    toe: Toe | None = None,
) -> Look:
    """Find the face in the photos and work out where it bore; BadInput says why not.

    Corners are in pixels of the full upright picture, in the order of ``Placed``;
    those not given are found, and ``toe`` says which way the toe points in the photo.
    """
    enough_px = ENOUGH * max(face.length_mm, face.width_mm) / FILLS
    first = None
    if before is None:
        picture = read_photo(after, enough_px=enough_px)
        now = _place(picture, after, face, corners_px, toe)
    else:
        picture, other = read_both(after, before, enough_px=enough_px)
        now = _place(picture, after, face, corners_px, toe)
        try:
            first = _place(other, before, face, before_corners_px, toe, first=True)
        except BadInput:
            # It can be done without; corners given wrongly are told of.
            if before_corners_px is not None:
                raise
    with named(after):
        contact = contact_of(
            now.view,
            face,
            None if first is None else first.view,
            may_be_turned=first is not None and first.how == "outline",
        )
    warnings = [*now.warnings]
    if first is not None:
        warnings += [f"before: {one}" for one in first.warnings]
    elif before is not None:
        warnings.append(
            f"the face is not found in {before}, so the other photo was judged by "
            "itself; give its corners with --before-corners"
        )
    return Look(
        contact=replace(contact, warnings=(*warnings, *contact.warnings)),
        after=now,
        before=first,
    )


def _place(
    picture: Picture,
    path: Path,
    face: Face,
    corners_px: Points | None,
    toe: Toe | None,
    *,
    first: bool = False,
) -> Placed:
    """Find the face in a photo, unless its corners are given; say what to doubt.

    ``first`` says that it is the one from before, which may lie end for end.
    """
    with named(path):
        placed = _placed(picture, face, corners_px, toe, may_be_turned=first)
        refuse_drawing(picture.pixels, placed.view.corners_px)
    warnings = list(placed.warnings)
    fine = natural_px_per_mm(placed.corners_px, face)
    if fine < COARSE:
        warnings.append(
            f"the face has only {fine:.1f} pixels to the millimetre where it has the "
            f"fewest, and {COARSE:.0f} are needed; go nearer"
        )
    if picture.grey:
        warnings.append("the photo has no colours: coloured ink is hard to tell")
    if picture.reduced > 2 and fine / picture.reduced < TOO_FEW:
        picture = read_photo(path, fewer=2)
    return replace(placed, picture=picture, warnings=tuple(warnings))


def _placed(
    picture: Picture,
    face: Face,
    corners_px: Points | None,
    toe: Toe | None,
    *,
    may_be_turned: bool,
) -> Placed:
    if corners_px is not None:
        size = {"width_px": picture.width_px, "height_px": picture.height_px}
        check_corners(corners_px, face, **size)
        if toe is not None:
            check_toe(corners_px, face, toe)
        given = np.array(corners_px, np.float64)
        return Placed(
            picture=picture, corners_px=given, how="given", sure=1.0, warnings=()
        )
    marks = find_marks(picture.pixels, face)
    if marks is not None:
        return Placed(
            picture=picture,
            corners_px=picture.to_full(marks.corners_px),
            how="marks",
            sure=1.0,
            warnings=marks.warnings,
            covered=marks.covered,
        )
    outline = find_outline(picture.pixels, face)
    ordered = corners_in_order(
        picture.pixels, outline.corners_px, face, toe, may_be_turned=may_be_turned
    )
    return Placed(
        picture=picture,
        corners_px=picture.to_full(ordered.corners_px),
        how="outline",
        sure=outline.confidence,
        warnings=(*((outline.doubt,) if outline.doubt else ()), *ordered.warnings),
    )
