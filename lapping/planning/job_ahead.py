"""A job before it begins: a face, how far it is out, and the metal that costs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import in_zone
from lapping.grits import Grit
from lapping.planning.other_ways import FILE_MARKS_UM, leaves_um
from lapping.planning.sequence import Range
from lapping.surface.posterior import Surface
from lapping.warmth import Metal
from lapping.wear.flattening import (
    EXACT,
    Depth,
    depth_of_many,
    depths_to_flatten_um,
    rub_until,
)
from lapping.wear.lap_contact import Cells, cells_of
from lapping.working import HOLLOW_SHARE, PROUD_SHARE
from lapping.zone.minimum_zone import minimum_zone

Array = NDArray[np.float64]

DRAWS = 9
"""Surfaces tried of those that readings leave possible: their median and their spread
are needed, and no tail."""
SKIN_SPREAD = 0.5
"""Log-spread of the skin of stock: a factor of 2.3 either way. An assumption."""
COARSE_CELLS = (30, 10)
_SHAPES = ((-1.0, 0.0), (0.0, 1.0), (1.0, 0.0))
"""Bow along and twist: hollow, twisted, crowned, from the least metal to the most for
the same flatness."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """What is to be done: a face, its metal, how far out it is, how flat it shall be.

    ``out_um`` is its flatness: few, likely and many. ``depth`` is what comes off on
    average until the shape is within ``target_um``, with the skin; ``working`` until a
    sole works, as in `working.works`, None where nobody knows; ``works`` says that the
    readings prove it works as it is. ``to_filed`` and
    ``from_filed`` are the parts before and after a file has done what a file can.
    """

    face: Face
    metal: Metal
    out_um: Range
    target_um: float
    depth: Depth
    to_filed: Depth
    from_filed: Depth
    working: Depth | None = None
    works: bool = False
    skin_um: float = 0.0
    scratched_by: Grit | None = None

    @property
    def flat_already(self) -> bool:
        """Say whether its likely flatness is within the target."""
        return self.out_um[1] <= self.target_um


def job_from_surface(
    surface: Surface,
    metal: Metal,
    target_um: float,
    *,
    flatness_um: Range,
    works: bool = False,
    scratched_by: Grit | None = None,
) -> Job:
    """Make the job of a face that was read, from the surfaces the readings leave.

    ``flatness_um`` is what `answer` has found: low, likely and high.
    """
    grid, p, face = surface.grid, surface.places, surface.face
    cells = Cells(
        face=face,
        along_mm=grid.along_mm,
        across_mm=grid.across_mm,
        cell_mm2=face.length_mm * face.width_mm / grid.along_mm.size,
    )
    heights = list(surface.draws_um[:DRAWS, p:])
    working = None
    # A side and a lap work by being flat all over.
    if face.kind == "sole":
        judge = SoleWorks.of(cells, target_um)
        working = depth_of_many(
            [
                rub_until(cells, one, judge.met, exact_um=EXACT * target_um)[0]
                for one in heights
            ]
        )
    job = _job(cells, heights, metal, target_um, flatness_um=flatness_um)
    return replace(job, working=working, works=works, scratched_by=scratched_by)


def job_of_stock(
    face: Face,
    metal: Metal,
    target_um: float,
    *,
    flatness_um: Range,
    skin_um: float = 0.0,
) -> Job:
    """Make the job of a face known by its flatness alone: few, likely and many, in µm.

    It may be hollow, twisted or crowned, which cost different metal.
    """
    cells = cells_of(face, *COARSE_CELLS)
    terms = cells.terms
    a, c = terms[:, 1], terms[:, 2]
    heights = []
    for bow, twist in _SHAPES:
        shape = -bow * a**2 + twist * a * c
        unit = minimum_zone(cells.along_mm, cells.across_mm, shape).width_um
        heights += [shape * um / unit for um in flatness_um]
    return _job(
        cells, heights, metal, target_um, flatness_um=flatness_um, skin_um=skin_um
    )


def _job(
    cells: Cells,
    heights: Sequence[Array],
    metal: Metal,
    target_um: float,
    *,
    flatness_um: Range,
    skin_um: float = 0.0,
) -> Job:
    filed_um = max(leaves_um("file", cells.face.length_mm), target_um)
    both = [depths_to_flatten_um(cells, one, (filed_um, target_um)) for one in heights]
    return Job(
        face=cells.face,
        metal=metal,
        out_um=flatness_um,
        target_um=target_um,
        depth=_with_skin(depth_of_many([whole for _, whole in both]), skin_um),
        to_filed=_with_skin(depth_of_many([filed for filed, _ in both]), skin_um),
        from_filed=_with_skin(
            depth_of_many([whole - filed for filed, whole in both]),
            FILE_MARKS_UM,
        ),
        skin_um=skin_um,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SoleWorks:
    """The conditions of `working.works` for one surface after another."""

    cells: Cells
    target_um: float
    bears: NDArray[np.bool_]
    ends: NDArray[np.bool_]
    over_bearing: Array
    over_ends: Array

    @classmethod
    def of(cls, cells: Cells, target_um: float) -> SoleWorks:
        """Set the conditions up for the cells of one face and a target in µm."""
        inside = [
            in_zone(zone, cells.along_mm, cells.across_mm)
            for zone in cells.face.bearing_zones()
        ]
        bears: NDArray[np.bool_] = np.any(inside, axis=0)
        ends: NDArray[np.bool_] = inside[0] | inside[-1]
        terms = cells.terms
        return cls(
            cells=cells,
            target_um=target_um,
            bears=bears,
            ends=ends,
            over_bearing=np.asarray(np.linalg.pinv(terms[bears])),
            over_ends=np.asarray(np.linalg.pinv(terms[ends])),
        )

    def met(self, height: Array) -> bool:
        """Say whether the bearing zones lie in one plane with nothing in their way."""
        cells, target, bears, ends = self.cells, self.target_um, self.bears, self.ends
        terms = cells.terms
        over = height - terms @ (self.over_ends @ height[ends])
        if over[~ends].max() - over[ends].max() > PROUD_SHARE * target:
            return False
        flat = height - terms @ (self.over_bearing @ height[bears])
        if flat[bears].max() - flat[~bears].min() > (1 + HOLLOW_SHARE) * target:
            return False
        zone = minimum_zone(
            cells.along_mm[bears], cells.across_mm[bears], height[bears]
        )
        return zone.width_um <= target


def _with_skin(depth: Depth, skin_um: float) -> Depth:
    """Add what comes off all over, as well known as a figure of its kind can be."""
    total = depth.likely_um + skin_um
    if total == 0:
        return depth
    parts = depth.likely_um * depth.spread, skin_um * SKIN_SPREAD
    return Depth(likely_um=total, spread=math.hypot(*parts) / total)
