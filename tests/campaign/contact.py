"""How a loaded face presses on paper: a cushion that stiffens and that neighbours dent.

The pressure at a cell grows as a power of how deep it sinks in; the cushion itself
sinks in a dish around what presses on it, so that rims and corners press harder than
the middle, as under a flat punch on an elastic body (K. L. Johnson, Contact Mechanics,
1985, chapter 3; from memory). The face is rigid here and finds its height and two tilts
by balance of force and moments.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ROUNDS = 60
BALANCED = 1e-6
"""Force and moments left over, as a share of the load."""
HALVINGS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Cushion:
    """What lies under the grain: paper, glue, swarf and the lap's own surface.

    At ``at_kpa`` evenly spread a face sinks in by ``sinks_um``, with the power
    ``power``, and the dish around it, a bell of ``reach_mm``, is ``dish_um`` deep.
    """

    sinks_um: float
    power: float
    dish_um: float
    reach_mm: float
    at_kpa: float = 5.0

    @property
    def stiffness(self) -> float:
        """Give kPa at a depth of one micrometre."""
        return float(self.at_kpa / self.sinks_um**self.power)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cells:
    """The metal of a face as cells in mm, each with its place in the whole grid."""

    along_mm: Array
    across_mm: Array
    row: NDArray[np.intp]
    column: NDArray[np.intp]
    rows: int
    columns: int
    step_along_mm: float
    step_across_mm: float

    @property
    def area_mm2(self) -> float:
        """Give the area of one cell."""
        return self.step_along_mm * self.step_across_mm


def bell(steps: int, step_mm: float, reach_mm: float) -> Array:
    """Give the matrix that spreads one axis of a grid by a bell of unit area."""
    at = step_mm * np.arange(steps)
    apart = (at[:, None] - at[None, :]) / reach_mm
    return np.asarray(
        np.exp(-0.5 * apart**2) * step_mm / (reach_mm * (2 * np.pi) ** 0.5)
    )


def dish_um(cells: Cells, cushion: Cushion, kpa: Array) -> Array:
    """Give how far the cushion sinks at each cell by pressure all around it."""
    laid = np.zeros((cells.rows, cells.columns))
    laid[cells.row, cells.column] = kpa
    along = bell(cells.rows, cells.step_along_mm, cushion.reach_mm)
    across = bell(cells.columns, cells.step_across_mm, cushion.reach_mm)
    spread = along @ laid @ across.T
    return np.asarray(
        spread[cells.row, cells.column] * cushion.dish_um / cushion.at_kpa
    )


def settle(
    cells: Cells,
    cushion: Cushion,
    top_um: Array,
    bears: NDArray[np.bool_],
    load_n: float,
    pressed_mm: Array,
    pose: Array | None = None,
) -> tuple[Array, Array]:
    """Give pressures in kPa and poses of the face for several positions at once.

    ``top_um`` (positions, cells) is the face's height plus that of the lap below it,
    ``bears`` where there is lap at all, ``pressed_mm`` (positions, 2) the place that
    the load goes through. Newton on the energy, which is convex.
    """
    middle_along = cells.along_mm.mean()
    half_along = max(float(np.ptp(cells.along_mm)) / 2, 1.0)
    middle_across = cells.across_mm.mean()
    half_across = max(float(np.ptp(cells.across_mm)) / 2, 1.0)
    base = np.stack(
        [
            np.ones_like(cells.along_mm),
            (cells.along_mm - middle_along) / half_along,
            (cells.across_mm - middle_across) / half_across,
        ]
    )
    pairs = (base[:, None, :] * base[None, :, :]).reshape(9, -1)
    kpa_mm2 = load_n * 1e3
    wanted = kpa_mm2 * np.stack(
        [
            np.ones(len(pressed_mm)),
            (pressed_mm[:, 0] - middle_along) / half_along,
            (pressed_mm[:, 1] - middle_across) / half_across,
        ],
        axis=1,
    )
    k, m, area = cushion.stiffness, cushion.power, cells.area_mm2
    share = np.where(bears, area * k, 0.0)
    if pose is None:
        pose = np.zeros((len(top_um), 3))
        pose[:, 0] = cushion.sinks_um - top_um.min(axis=1)

    def sunk(at: Array) -> Array:
        return np.asarray(np.maximum(top_um + at @ base, 0.0))

    def energy(depth: Array, at: Array) -> Array:
        held = (share * depth ** (m + 1)).sum(axis=1) / (m + 1)
        return np.asarray(held - (wanted * at).sum(axis=1))

    depth = sunk(pose)
    stored = energy(depth, pose)
    for _ in range(ROUNDS):
        force = share * depth**m
        left = force @ base.T - wanted
        if np.abs(left).max() < BALANCED * kpa_mm2:
            break
        stiff = np.where(depth > 0, m * share * np.maximum(depth, 1e-3) ** (m - 1), 0.0)
        hessian = (stiff @ pairs.T).reshape(-1, 3, 3)
        size = np.trace(hessian, axis1=1, axis2=2)[:, None, None]
        hessian = hessian + (1e-9 * size + 1e-6 * area * k) * np.eye(3)
        step = -np.linalg.solve(hessian, left[:, :, None])[:, :, 0]
        slope = (step * left).sum(axis=1)
        scale = np.ones(len(pose))
        for _ in range(HALVINGS):
            tried = pose + scale[:, None] * step
            deeper = sunk(tried)
            now = energy(deeper, tried)
            # Near the bottom the energy itself is known to rounding only.
            worse = now > stored + 1e-4 * scale * slope + 1e-12 * np.abs(stored)
            if not worse.any():
                break
            scale = np.where(worse, scale / 2, scale)
        pose, depth, stored = tried, deeper, now
    return share * depth**m / area, pose
