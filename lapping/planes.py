"""Planes through heights: levelled coordinates, the least squares plane, ISO 12781."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, inf, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapping.errors import TooFewReadings

Column = NDArray[np.float64]

MM_PER_UM = 1e-3
ON_ONE_LINE = 1e-10
"""Places nearer to one line than this share of their extent lie on it."""
AT_ONE_SPOT = 1e-12
"""Places nearer together than this share of their distance from 0 are one spot."""
NARROW = 1e-6
"""Below this ratio of variances the second axis is worked out place by place."""


@dataclass(frozen=True, slots=True)
class Plane:
    """The plane level + slope_along·along + slope_across·across, positions in mm."""

    level_um: float
    along_um_per_mm: float
    across_um_per_mm: float

    def at(self, along_mm: ArrayLike, across_mm: ArrayLike) -> Column:
        """Give the plane's height in µm at each place."""
        along = np.asarray(along_mm, dtype=np.float64)
        across = np.asarray(across_mm, dtype=np.float64)
        return (
            self.level_um
            + self.along_um_per_mm * along
            + self.across_um_per_mm * across
        )

    @property
    def normal_factor(self) -> float:
        """Distance along the plane's normal over distance along the height axis."""
        along = self.along_um_per_mm * MM_PER_UM
        across = self.across_um_per_mm * MM_PER_UM
        return 1.0 / sqrt(1.0 + along * along + across * across)


@dataclass(frozen=True, slots=True, eq=False)
class Levelled:
    """Places in two uncorrelated coordinates of unit rms, heights less their plane.

    ``rows`` has shape (3, n): the coordinates u and v, which carry no unit, then the
    height in µm. ``rank`` is 2, 1 when the places lie on one line (v is 0) and 0 when
    they are one spot (u and v are 0). ``u_along`` and so on turn positions in mm into
    u and v; ``rounding_um`` is the size of the rounding error in the heights.
    """

    rows: Column
    rank: int
    along_mm: float
    across_mm: float
    level_um: float
    u_along: float
    u_across: float
    v_along: float
    v_across: float
    slope_u: float
    slope_v: float
    rounding_um: float

    def plane(self, level: float, slope_u: float, slope_v: float) -> Plane:
        """Give, in mm and as it lay before levelling, a plane of this frame."""
        slope_u += self.slope_u
        slope_v += self.slope_v
        along = slope_u * self.u_along + slope_v * self.v_along
        across = slope_u * self.u_across + slope_v * self.v_across
        start = self.level_um + level - along * self.along_mm - across * self.across_mm
        return Plane(start, along, across)


def levelled(
    along_mm: ArrayLike, across_mm: ArrayLike, height_um: ArrayLike
) -> Levelled:
    """Centre and scale the places and take the least squares plane off the heights.

    All columns have shape (n,). Raises TooFewReadings without a place and ValueError
    for columns that differ in length or hold anything but finite numbers.
    """
    rows = np.array((along_mm, across_mm, height_um), dtype=np.float64)
    if rows.ndim != 2:
        message = f"places and heights must be plain columns (got {rows.ndim - 1} axes)"
        raise ValueError(message)
    n = rows.shape[1]
    if n == 0:
        message = "there is no place with a height; read at least one"
        raise TooFewReadings(message)
    flat = rows.reshape(-1)
    # One product sees every NaN and infinity, at less cost than asking each value.
    if not flat.dot(flat) < inf:
        message = "every value must be a finite number (got NaN or infinity)"
        raise ValueError(message)
    centre = np.add.reduce(rows, 1) / n
    rows -= centre[:, None]
    gram = rows.dot(rows.T).tolist()
    (xx, xy, xz), (_, yy, yz), (_, _, zz) = gram
    mid_along, mid_across, level = centre.tolist()
    rounding = 4e-16 * sqrt(zz / n)
    # The longer axis first: what is left across it is then well defined.
    swap = yy > xx
    if swap:
        xx, yy, xz, yz = yy, xx, yz, xz
    far = AT_ONE_SPOT * (abs(mid_along) + abs(mid_across))
    if xx <= n * far * far:
        rows[:2] = 0.0
        return Levelled(
            rows, 0, mid_along, mid_across, level, 0, 0, 0, 0, 0, 0, rounding
        )
    lean = xy / xx
    rest = yy - lean * xy
    if rest <= NARROW * xx:
        return _narrow(rows, swap, lean, (mid_along, mid_across, level), rounding)
    first = 1.0 / sqrt(xx / n)
    second = 1.0 / sqrt(rest / n)
    across_first = (yz - lean * xz) / rest
    slope_x = xz / xx - lean * across_first
    turn = np.array(
        (
            (first, 0.0, 0.0),
            (-lean * second, second, 0.0),
            (-slope_x, -across_first, 1.0),
        )
    )
    axes = (first, 0.0, -lean * second, second)
    if swap:
        turn[:, :2] = turn[:, 1::-1]
        axes = (0.0, first, second, -lean * second)
    slopes = (xz / xx / first, across_first / second)
    return Levelled(
        turn.dot(rows), 2, mid_along, mid_across, level, *axes, *slopes, rounding
    )


def _narrow(
    rows: Column,
    swap: bool,
    lean: float,
    centre: tuple[float, float, float],
    rounding: float,
) -> Levelled:
    """Level places on one line, or so nearly that their sums cannot tell."""
    n = rows.shape[1]
    u, v, z = rows[1 if swap else 0], rows[0 if swap else 1], rows[2]
    v = v - lean * u
    again = float(v @ u) / float(u @ u)
    v -= again * u
    lean += again
    on_line = float(np.abs(v).max()) <= ON_ONE_LINE * float(np.abs(u).max())
    first = 1.0 / sqrt(float(u @ u) / n)
    second = 0.0 if on_line else 1.0 / sqrt(float(v @ v) / n)
    u = u * first
    v = v * second
    slopes = (float(z @ u) / n, float(z @ v) / n)
    out = np.array((u, v, z - slopes[0] * u - slopes[1] * v))
    axes = (first, 0.0, -lean * second, second)
    if on_line:
        # Along a leaning line a plane is level across the line itself.
        short = first / hypot(1.0, lean) ** 2
        axes = (short, lean * short, 0.0, 0.0)
    if swap:
        axes = (axes[1], axes[0], axes[3], axes[2])
    return Levelled(out, 1 if on_line else 2, *centre, *axes, *slopes, rounding)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LeastSquares:
    """The least squares plane and the flatness figures of ISO 12781 about it.

    ``residual_um`` has shape (n,) and is taken normal to the plane, as are the
    figures: ``total_um`` is FLTt = FLTp + FLTv, ``peak_um`` FLTp, ``valley_um`` FLTv
    and ``rms_um`` FLTq with divisor n.
    """

    plane: Plane
    residual_um: Column
    total_um: float
    peak_um: float
    valley_um: float
    rms_um: float


def least_squares(
    along_mm: ArrayLike, across_mm: ArrayLike, height_um: ArrayLike
) -> LeastSquares:
    """Fit the plane with the least sum of squared height residuals.

    All columns have shape (n,). Places on one line give the plane that is level across
    that line. Raises TooFewReadings without a place. Figures: ISO 12781-1:2011.
    """
    frame = levelled(along_mm, across_mm, height_um)
    u, v, z = frame.rows
    # A second pass takes off what rounding left of a steep tilt in the first.
    level = float(z.mean())
    slope_u = float(u @ z) / z.size if frame.rank > 0 else 0.0
    slope_v = float(v @ z) / z.size if frame.rank > 1 else 0.0
    plane = frame.plane(level, slope_u, slope_v)
    residual = (z - level - slope_u * u - slope_v * v) * plane.normal_factor
    residual.setflags(write=False)
    peak = max(float(residual.max()), 0.0)
    valley = max(-float(residual.min()), 0.0)
    return LeastSquares(
        plane=plane,
        residual_um=residual,
        total_um=peak + valley,
        peak_um=peak,
        valley_um=valley,
        rms_um=sqrt(float(residual @ residual) / residual.size),
    )
