"""Outside answers for the zone tests: a linear program, and sets that are hard."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

Column = NDArray[np.float64]


def zone_by_linear_program(
    along: Column, across: Column, top: Column, bottom: Column, *, least: float | None
) -> float:
    """Solve the vertical zone with HiGHS on inputs scaled to about 1.

    ``top`` must lie below the upper plane and ``bottom`` above the lower one; infinite
    values are left out. ``least`` bounds half the distance from below.
    """
    n = along.size
    finite = np.concatenate((top[np.isfinite(top)], bottom[np.isfinite(bottom)]))
    middle = float(finite.mean()) if finite.size else 0.0
    span = (float(np.ptp(finite)) if finite.size else 0.0) or 1.0
    one = np.ones(n)
    columns = [one]
    for place in (along, across):
        columns.append((place - place.mean()) / (float(np.ptp(place)) or 1.0))
    a = np.column_stack(columns)
    rows = np.vstack((np.column_stack((-a, -one)), np.column_stack((a, -one))))
    limits = np.concatenate((-(top - middle), bottom - middle)) / span
    known = np.isfinite(limits)
    answer = linprog(
        [0.0, 0.0, 0.0, 1.0],
        A_ub=rows[known],
        b_ub=limits[known],
        bounds=[(None, None)] * 3 + [(least, None)],
        method="highs",
        options={
            "primal_feasibility_tolerance": 1e-10,
            "dual_feasibility_tolerance": 1e-10,
        },
    )
    assert answer.status == 0
    return float(2.0 * answer.fun * span)


KINDS = (
    "random",
    "grid",
    "quantised",
    "one line",
    "coplanar",
    "one outlier",
    "saddle",
    "bowl",
    "column",
    "duplicated",
    "equal",
    "rounded noise on a tilt",
)


def hard_set(kind: str, rng: np.random.Generator) -> tuple[Column, Column, Column]:
    """Make one random set of the kind, of 1 to 69 places."""
    n = int(rng.integers(1, 70))
    along, across = rng.uniform(0, 250, n), rng.uniform(0, 60, n)
    height = rng.normal(size=n) * 20
    if kind in {"grid", "quantised", "one outlier", "saddle", "equal"}:
        along, across = np.round(along / 25) * 25, np.round(across / 20) * 20
    if kind in {"quantised", "rounded noise on a tilt"}:
        height = np.round(height / 10) * 10
    if kind == "one line":
        share = rng.uniform(0, 1, n)
        along, across = share * 200, share * 40
    if kind == "coplanar":
        height = 0.3 * along - 0.1 * across + 5
    if kind == "one outlier":
        height = np.zeros(n)
        height[rng.integers(n)] = 30.0
    if kind == "saddle":
        height = (along - 125) * (across - 30) * 0.01
    if kind == "bowl":
        height = (along - 125) ** 2 * 0.003 + (across - 30) ** 2 * 0.01
    if kind == "column":
        along, across = np.full(n, along[0]), np.round(across / 10) * 10
    if kind == "duplicated":
        again = rng.integers(0, n, n)
        along, across = along[again], across[again]
    if kind == "equal":
        height = np.full(n, 7.5)
    if kind == "rounded noise on a tilt":
        height = height + 2 * along - across
    return along, across, height
