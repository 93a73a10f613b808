"""The plane: the true heights of one of its faces, its heads, its heat and its flex."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import exp

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from tests.campaign.contact import Array, Cells

CELLS = 850
"""About how many cells a face is cut into."""
NEAREST = 6
"""A height between cells is that of the plane through this many around it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """A metal: expansion in 1e-6/K (handbook values) and how fast it wears."""

    name: str
    expansion: float
    wears: float
    loads: float = 0.0


METALS = (
    Metal(name="cast iron", expansion=10.8, wears=1.0),
    Metal(name="ductile iron", expansion=11.0, wears=0.9),
    Metal(name="steel", expansion=11.5, wears=0.65),
    Metal(name="bronze", expansion=18.0, wears=1.5, loads=0.3),
    Metal(name="aluminium", expansion=23.0, wears=2.2, loads=1.0),
)
"""How fast they wear beside cast iron is a guess by their hardness; no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """A rivet or screw head, or a corner, that stands proud; ``wears`` beside it."""

    where: str
    along_mm: float
    across_mm: float
    reach_mm: float
    proud_um: float
    wears: float


def cut(face: Face) -> Cells:
    """Cut the metal of a face into cells."""
    step = (face.length_mm * face.width_mm / CELLS) ** 0.5
    rows = max(20, round(face.length_mm / step))
    columns = max(8, round(face.width_mm / step))
    along = (np.arange(rows) + 0.5) * face.length_mm / rows
    across = (np.arange(columns) + 0.5) * face.width_mm / columns
    places = [
        (i, j)
        for i in range(rows)
        for j in range(columns)
        if face.is_metal(float(along[i]), float(across[j]))
    ]
    row, column = np.array(places).T
    return Cells(
        along_mm=along[row],
        across_mm=across[column],
        row=row,
        column=column,
        rows=rows,
        columns=columns,
        step_along_mm=face.length_mm / rows,
        step_across_mm=face.width_mm / columns,
    )


@dataclass(slots=True, kw_only=True, eq=False)
class Body:
    """The plane on the bench. ``height_um`` is its face unloaded and evenly warm.

    ``flex_um`` is the bow that the hands press into it, ``warm_k`` how much warmer the
    face is than the back of the plane, which is ``thick_mm`` away.
    """

    face: Face
    cells: Cells
    metal: Metal
    height_um: Array
    heads: tuple[Head, ...] = ()
    flex_um: float = 0.0
    thick_mm: float = 50.0
    settles_min: float = 10.0
    heating_k: float = 3.0
    warm_k: float = 0.0
    removed_um: Array = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self) -> None:
        """Begin with nothing removed."""
        if not self.removed_um.size:
            self.removed_um = np.zeros_like(self.height_um)

    @property
    def bow_per_k(self) -> float:
        """Give the crown in µm by one degree: expansion, length², an eighth of h."""
        return (
            self.metal.expansion
            * 1e-6
            * self.face.length_mm**2
            / (8 * self.thick_mm)
            * 1e3
        )

    def arc(self, along_mm: Array) -> Array:
        """Give a bow of one, from 0 at the ends to 1 in the middle."""
        return np.asarray(1 - (2 * along_mm / self.face.length_mm - 1) ** 2)

    def seen_um(self) -> Array:
        """Give the heights of all cells as they are now, warm as the plane is."""
        bow = self.bow_per_k * self.warm_k * self.arc(self.cells.along_mm)
        return np.asarray(self.height_um + bow)

    def lapped_um(self) -> Array:
        """Give the heights that meet the lap: warm, and bent by the hands."""
        return np.asarray(self.seen_um() + self.flex_um * self.arc(self.cells.along_mm))

    def rest(self, minutes: float) -> None:
        """Let the heat spread through the plane."""
        self.warm_k *= exp(-minutes / self.settles_min)

    def heat(self, minutes: float, share: float) -> None:
        """Warm the face by rubbing for so long; ``share`` is the work of the hands."""
        left = exp(-minutes / self.settles_min)
        self.warm_k = self.warm_k * left + self.heating_k * share * (1 - left)

    def parts(self) -> NDArray[np.intp]:
        """Give for each cell 0, or the number of the head it belongs to, from 1."""
        found = np.zeros(self.cells.along_mm.size, dtype=np.intp)
        for number, head in enumerate(self.heads, start=1):
            found[self.on_head(head)] = number
        return found

    def on_head(self, head: Head) -> NDArray[np.bool_]:
        """Say which cells belong to a head: those within its reach, at least one."""
        apart = np.hypot(
            self.cells.along_mm - head.along_mm, self.cells.across_mm - head.across_mm
        )
        return np.asarray(apart <= max(head.reach_mm, float(apart.min()) + 1e-6))

    def wears(self) -> Array:
        """Give for each cell how fast it wears beside cast iron."""
        found = np.full(self.cells.along_mm.size, self.metal.wears)
        for head in self.heads:
            found[self.on_head(head)] = self.metal.wears * head.wears
        return found

    def proud_um(self, head: Head) -> float:
        """Give how far a head stands above the metal around it."""
        apart = np.hypot(
            self.cells.along_mm - head.along_mm, self.cells.across_mm - head.across_mm
        )
        on = self.on_head(head)
        others: NDArray[np.bool_] = self.parts() == 0
        near = others & (apart <= max(head.reach_mm, 4.0) + 14.0)
        if not near.any():
            return 0.0
        return float(self.height_um[on].mean() - self.height_um[near].mean())


def weights(body: Body, along_mm: Sequence[float], across_mm: Sequence[float]) -> Array:
    """Give the matrix (places, cells) from heights of cells to heights at places.

    A place on a head takes the head's cells; others a plane through those around them.
    """
    cells, parts = body.cells, body.parts()
    found = np.zeros((len(along_mm), cells.along_mm.size))
    for one, (x, y) in enumerate(zip(along_mm, across_mm, strict=True)):
        apart = np.hypot(cells.along_mm - x, cells.across_mm - y)
        part = parts[int(apart.argmin())]
        same = np.nonzero(parts == part)[0]
        chosen = same[np.argsort(apart[same])[:NEAREST]]
        if part or chosen.size < 4:
            found[one, chosen] = 1 / chosen.size
            continue
        terms = np.stack(
            [
                np.ones(chosen.size),
                cells.along_mm[chosen] - x,
                cells.across_mm[chosen] - y,
            ],
            axis=1,
        )
        near = 1 / (1 + (apart[chosen] / cells.step_along_mm) ** 2)
        found[one, chosen] = np.linalg.pinv(terms * near[:, None])[0] * near
    return found
