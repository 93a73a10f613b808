"""What strokes on a lap do to a face: a rigid body, springy paper, Preston's wear.

The pressure is that of `lap_contact`; wear is dz = -K·p·ds (Preston 1927, J. Soc.
Glass Technol. 11, 214: removal is proportional to pressure and path), averaged over
the moments of a stroke (`lap_strokes`); K falls as the sheet is used.

A face that bears all over flattens with a time constant of 1/(K·stiffness·path of a
stroke) strokes: what it deviates from the plane it is lapped to falls to 1/e in each.

What it leaves out. Face and lap are rigid: a thin sole that gives under the hand is
flatter on the lap than off it. The paper answers place by place, so it does not rise
in front of an edge, and there is **no rounding of edges**, which soft backing, loose
paper and grit pushed ahead of the face make in truth. The metal is everywhere equally
hard, the sheet everywhere equally worn, and heat bends nothing. Use it to plan, to
predict and to make up data, not to judge a face.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.wear.lap_contact import Cells, Pressed, press
from lapping.wear.lap_strokes import LapSurface, Moments, Rubbing, moments_of

Array = NDArray[np.float64]

TOLERANCE_UM = 0.02
_EACH_STEP = 1 / 8
_UM_PER_MM = 1000.0
# Bogacki and Shampine (1989), Appl. Math. Lett. 2, 321: third order, with a second
# order result beside it that tells the error of the step.
_THIRD = (2 / 9, 1 / 3, 4 / 9)
_ERROR = (-5 / 72, 1 / 12, 1 / 9, -1 / 8)
_STABLE = 2.5
"""A step may be so many time constants long before the method overshoots."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Abrasive paper: how springy it is, how fast it cuts, and how that fades.

    ``preston_per_mpa`` is mm of depth per mm of path and N/mm², with a fresh sheet: a
    wear coefficient over the hardness of the metal. It falls by exp(-1) in each
    ``fading_strokes`` towards ``lasting_share`` of itself; None: it does not fall.
    """

    stiffness_mpa_per_um: float
    preston_per_mpa: float
    fading_strokes: float | None = None
    lasting_share: float = 0.0

    def __post_init__(self) -> None:
        """Refuse paper that no paper is."""
        for name in ("stiffness_mpa_per_um", "preston_per_mpa"):
            value = getattr(self, name)
            if not 0 < value < math.inf:
                message = f"'{name}' must be more than 0 (got {value:g})"
                raise BadInput(message)
        if self.fading_strokes is not None and not self.fading_strokes > 0:
            message = (
                f"'fading_strokes' must be more than 0 (got {self.fading_strokes:g})"
            )
            raise BadInput(message)
        if not 0 <= self.lasting_share <= 1:
            message = f"'lasting_share' must be 0 to 1 (got {self.lasting_share:g})"
            raise BadInput(message)

    def fresh_strokes(self, strokes: float, used: float = 0.0) -> float:
        """Give how many strokes on a fresh sheet do as much as these after ``used``."""
        if self.fading_strokes is None:
            return strokes
        fading, last = self.fading_strokes, self.lasting_share
        faded = math.exp(-used / fading) * -math.expm1(-strokes / fading)
        return last * strokes + (1 - last) * fading * faded

    def time_constant(self, rubbing: Rubbing) -> float:
        """Give the fresh strokes in which the shape of a bearing face falls to 1/e."""
        per_um = self.preston_per_mpa * self.stiffness_mpa_per_um * _UM_PER_MM
        return 1 / (per_um * rubbing.path_mm)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rubbed:
    """A face after strokes.

    ``height_um`` (n,) is in the frame it was given in, so that the metal taken off is
    the difference. ``bearing`` (n,) is the share of the last stroke's path over which
    each cell bore; ``pressings`` were worked out.
    """

    height_um: Array
    bearing: Array
    pressings: int


def rub(
    cells: Cells,
    height_um: Array,
    rubbing: Rubbing,
    sheet: Sheet,
    strokes: float,
    *,
    used: float = 0.0,
    lap: LapSurface | None = None,
    tolerance_um: float = TOLERANCE_UM,
) -> Rubbed:
    """Rub a face of heights (n,) in µm with strokes on a sheet that has had ``used``.

    Heights are within about ``tolerance_um`` of what ever smaller steps lead to;
    exactly K·load·path is removed in volume. Without a lap the paper is flat and has no
    end. BadInput where the face tips over the lap's end.
    """
    wear = _Wear(
        cells=cells,
        moments=moments_of(cells, rubbing, lap),
        sheet=sheet,
        rubbing=rubbing,
    )
    left = sheet.fresh_strokes(strokes, used)
    constant, allowed = sheet.time_constant(rubbing), _EACH_STEP * tolerance_um
    height = np.array(height_um, dtype=np.float64)
    pressed, rate = wear.at(height, None)
    pressings = 1
    step = min(left, constant / 10) if left > 0 else 0.0
    while left > 0:
        step = min(step, left, _STABLE * constant)
        plane = pressed.plane_um
        two, second = wear.at(height - step / 2 * rate, plane)
        _, third = wear.at(height - 3 * step / 4 * second, two.plane_um)
        a, b, c = _THIRD
        taken = step * (a * rate + b * second + c * third)
        after, fourth = wear.at(height - taken, two.plane_um)
        pressings += 3
        e = _ERROR
        error = e[0] * rate + e[1] * second + e[2] * third + e[3] * fourth
        off = step * float(np.abs(error).max())
        # Wear brings two faces nearer to each other and never apart, so errors add up
        # at most, and those made early die out with the shape itself.
        if off <= allowed:
            height, pressed, rate = height - taken, after, fourth
            left -= step
        factor = 0.9 * (allowed / off) ** (1 / 3) if off > 0 else 5.0
        step *= min(5.0, max(0.2, factor))
    bearing = (pressed.pressure_mpa > 0).mean(axis=0)
    return Rubbed(height_um=height, bearing=bearing, pressings=pressings)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Wear:
    cells: Cells
    moments: Moments
    sheet: Sheet
    rubbing: Rubbing

    def at(self, height: Array, start: Array | None) -> tuple[Pressed, Array]:
        """Give how a face is pressed and its wear in µm per fresh stroke."""
        m = self.moments
        proud = np.broadcast_to(height, (len(m.hand), len(height)))
        pressed = press(
            self.cells,
            proud if m.lap_um is None else proud + m.lap_um,
            stiffness_mpa_per_um=self.sheet.stiffness_mpa_per_um,
            load_n=self.rubbing.load_n,
            hand=m.hand,
            bears=m.bears,
            start_um=start,
        )
        path_um = self.rubbing.path_mm * _UM_PER_MM
        rate = self.sheet.preston_per_mpa * path_um * pressed.pressure_mpa.mean(axis=0)
        return pressed, rate
