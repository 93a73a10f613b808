"""A rigid face pressed on paper: where it bears and how hard, at many places at once.

The paper is an elastic foundation (Winkler): each place of it answers its own
indentation with a pressure of stiffness times indentation, and nothing where there is
none. The face settles where that carries the load under the hand, without pull. Its
height and two tilts are the minimum of a convex energy, found by Newton's method with
a line search: on a given set of bearing places the energy is a quadratic, so the last
step is exact.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.face import Face
from lapping.observations import plane_terms

Array = NDArray[np.float64]

BALANCE = 1e-10
"""The force and both moments balance to this share of the load; moments over half the
length and half the width."""
_MOST_STEPS = 200
_SUFFICIENT = 1e-4
"""Share of the promised fall of the energy that a step has to bring (Armijo)."""
_NEVER_SINGULAR = 1e-12
_LEAST_STEP = 2.0**-40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cells:
    """The metal of a face as n equal cells: their middles in mm, the area of each.

    ``terms`` (n, 3) are 1, and the places from the middle of the face over half its
    length and half its width.
    """

    face: Face
    along_mm: Array
    across_mm: Array
    cell_mm2: float
    terms: Array = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Copy the columns and make them read-only."""
        for name in ("along_mm", "across_mm"):
            kept = np.array(getattr(self, name), dtype=np.float64)
            object.__setattr__(self, name, kept)
        terms = plane_terms(self.face, self.along_mm, self.across_mm)
        object.__setattr__(self, "terms", terms)
        for array in (self.along_mm, self.across_mm, self.terms):
            array.setflags(write=False)

    def __len__(self) -> int:
        """Give the number of cells."""
        return int(self.along_mm.size)


def cells_of(face: Face, n_along: int = 60, n_across: int = 20) -> Cells:
    """Cut a face into cells, without those whose middle is in a mouth or a hole."""
    along = (np.arange(n_along) + 0.5) * face.length_mm / n_along
    across = (np.arange(n_across) + 0.5) * face.width_mm / n_across
    places = [(a, c) for a in along for c in across if face.is_metal(a, c)]
    return Cells(
        face=face,
        along_mm=np.array([a for a, _ in places]),
        across_mm=np.array([c for _, c in places]),
        cell_mm2=face.length_mm * face.width_mm / (n_along * n_across),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pressed:
    """How a face bears in m situations at once.

    ``pressure_mpa`` (m, n) is N/mm² at each cell. ``plane_um`` (m, 3) lowers the face:
    its middle by the first, its heel and its right edge by the others more. ``steps``
    of Newton's method were needed.
    """

    pressure_mpa: Array
    plane_um: Array
    steps: int


def press(
    cells: Cells,
    proud_um: Array,
    *,
    stiffness_mpa_per_um: float,
    load_n: float,
    hand: Array,
    bears: NDArray[np.bool_] | None = None,
    start_um: Array | None = None,
) -> Pressed:
    """Find the pressures under a face in m situations, each a row.

    ``proud_um`` (m, n) is how far each cell stands towards the paper, that of the face
    and of the lap added. ``hand`` (m, 2) is where the load acts, along and across from
    the middle over half the length and half the width. ``bears`` (m, n) leaves out
    cells with no paper under them. ``start_um`` (m, 3) is a guess at ``plane_um``.

    BadInput where the hand is not over the cells that can bear, so that it tips.
    """
    problem = _Problem(
        terms=cells.terms,
        proud_um=np.atleast_2d(np.asarray(proud_um, dtype=np.float64)),
        bears=None if bears is None else np.atleast_2d(bears),
        # Forces are counted in units of what one cell carries for one micrometre.
        wanted=np.column_stack((np.ones(len(hand)), hand))
        * (load_n / (stiffness_mpa_per_um * cells.cell_mm2)),
    )
    plane = problem.first_guess() if start_um is None else np.array(start_um)
    for step in range(1, _MOST_STEPS + 1):
        sunk, force, moment = problem.at(plane)
        short = problem.wanted - force
        if (np.abs(short) <= BALANCE * problem.wanted[:, :1]).all():
            pressure = stiffness_mpa_per_um * sunk
            return Pressed(pressure_mpa=pressure, plane_um=plane, steps=step)
        plane = problem.step(plane, sunk, short, moment)
    message = (
        "the plane tips over the end of the lap: the hand is not over the part of the "
        "face that has paper under it; shorten the stroke or keep the hand back"
    )
    raise BadInput(message)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Problem:
    terms: Array
    proud_um: Array
    bears: NDArray[np.bool_] | None
    wanted: Array

    def first_guess(self) -> Array:
        """Lower every face until all of it bears: there the energy is one quadratic."""
        deep = self.wanted[:, 0] / len(self.terms) - self.proud_um.min(axis=1)
        return np.stack([deep, np.zeros_like(deep), np.zeros_like(deep)], axis=1)

    def at(self, plane: Array) -> tuple[Array, Array, Array]:
        """Give indentation (m, n), force with moments (m, 3), second moments."""
        sunk = self.sunk(plane)
        inside = (sunk > 0).astype(np.float64)
        t = self.terms
        products = t[:, (0, 0, 0, 1, 1, 2)] * t[:, (0, 1, 2, 1, 2, 2)]
        six = inside @ products
        moment = six[:, (0, 1, 2, 1, 3, 4, 2, 4, 5)].reshape(-1, 3, 3)
        return sunk, sunk @ t, moment

    def sunk(self, plane: Array) -> Array:
        """Give how far each cell is pressed in, 0 where it stands off."""
        sunk: Array = plane @ self.terms.T
        sunk += self.proud_um
        np.maximum(sunk, 0.0, out=sunk)
        if self.bears is not None:
            sunk[~self.bears] = 0.0
        return sunk

    def energy(self, plane: Array, sunk: Array) -> Array:
        """Give the energy of each row: of the paper, less the work of the hand."""
        stored: Array = 0.5 * np.einsum("ij,ij->i", sunk, sunk)
        work: Array = np.einsum("ij,ij->i", plane, self.wanted)
        return stored - work

    def step(self, plane: Array, sunk: Array, short: Array, moment: Array) -> Array:
        """Go down the energy of every row, as far as it falls enough."""
        # A face on two points or none has no second moments about their line; then
        # this makes it the step of steepest descent there.
        size: Array = np.maximum(np.trace(moment, axis1=1, axis2=2), 1.0)
        firm: Array = moment + _NEVER_SINGULAR * size[:, None, None] * np.eye(3)
        way: Array = np.asarray(np.linalg.solve(firm, short[:, :, None])[:, :, 0])
        promised = np.einsum("ij,ij->i", way, short)
        before = self.energy(plane, sunk)
        # Rounding of the energy must not stop the last, smallest steps.
        slack = 1e-13 * (np.abs(before) + np.abs(plane * self.wanted).sum(axis=1))
        share = np.ones(len(plane))
        while True:
            there = plane + share[:, None] * way
            after = self.energy(there, self.sunk(there))
            bad = after > before - _SUFFICIENT * share * promised + slack
            if not bad.any() or share.min() < _LEAST_STEP:
                return there
            share[bad] /= 2
