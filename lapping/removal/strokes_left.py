"""How many strokes are left, as a range that holds nine times in ten."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.removal.dose_seen import GIVES_UM
from lapping.removal.excess import excess
from lapping.removal.job import Run
from lapping.removal.learnt import Removal
from lapping.removal.rates import rate_on
from lapping.wear.dose import worn_down
from lapping.wear.rate_prior import LASTING_SHARE

Array = NDArray[np.float64]

FACES = 48
"""Surfaces worn down in thought: enough for the ends of a 90 % range."""
DOSES_UM = np.concatenate([[0.0], np.geomspace(0.3, 600.0, 26)])
SPENT = 0.5
"""A sheet that cuts at half its first rate is changed. Common practice is sooner rather
than later, no source; the share is ours."""
WEARS = (0.05, 3.0)
"""Log loss of a sheet's rate in a hundred strokes is not outside these."""
MOST_STROKES = 50_000.0
"""More strokes than these are no plan; nobody makes them."""
RUN_STROKES = 150.0
"""About so many strokes are one run."""
LEAST_STROKES = 30
"""Nobody cleans a plane and reads it for fewer."""
MODEL_SPREAD = 0.35
"""Log-spread of what the model of wear leaves out: edges, swing, heat, sheets that are
not alike. Set by simulated jobs."""
COVERS = (0.05, 0.95)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Left:
    """Strokes still to go: few and many (5 and 95 %), and every draw of them.

    ``dose_um`` (n,) is the metal to come off, ``strokes`` (n,) what that takes.
    ``sheets`` is how many sheets the median takes.
    """

    few: int
    many: int
    dose_um: Array
    strokes: Array
    sheets: int


def doses_to_go(
    face: Face, height_um: Array, give_um: Array, target_um: float
) -> Array:
    """Give the dose that brings each face (n, places) within what is allowed, (n,).

    0 where it is already; the largest dose tried where none was enough.
    """
    worn = worn_down(face, height_um, give_um, DOSES_UM)
    steps, faces, places = worn.shape
    over = excess(face, worn.reshape(-1, places), target_um).reshape(steps, faces)
    # A later dose that is within makes all before it moot only from its own side.
    within = over <= 1.0
    found = np.full(faces, DOSES_UM[-1])
    for i in range(faces):
        first = int(np.argmax(within[:, i])) if within[:, i].any() else -1
        if first == 0:
            found[i] = 0.0
        elif first > 0:
            a, b = over[first - 1, i], over[first, i]
            share = (a - 1.0) / max(a - b, 1e-12)
            found[i] = DOSES_UM[first - 1] + share * (
                DOSES_UM[first] - DOSES_UM[first - 1]
            )
    return found


def strokes_left(
    face: Face,
    height_um: Array,
    target_um: float,
    known: Removal,
    run: Run,
    *,
    seed: int = 5,
) -> Left:
    """Give the strokes like ``run`` that bring a face within what is allowed.

    ``height_um`` (draws, places) are surfaces on the metal grid that its readings
    leave possible. The sheet of ``run`` is used on and changed when it is spent.
    """
    rng = np.random.default_rng(seed)
    pick = np.linspace(0, len(height_um) - 1, min(FACES, len(height_um))).astype(int)
    weight = known.held.weight
    ends = np.cumsum(weight)
    which = np.searchsorted(ends, (rng.permutation(pick.size) + 0.5) / pick.size)
    which = np.minimum(which, GIVES_UM.size - 1).astype(np.intp)
    dose = doses_to_go(face, height_um[pick], GIVES_UM[which], target_um)
    strokes = strokes_for(known, run, dose, which, rng)
    few, middle, many = np.quantile(strokes, [COVERS[0], 0.5, COVERS[1]])
    worn = np.clip(weight @ known.held.mean[:, 1], *WEARS) / 100
    life = float(spent_after(np.array(worn)))
    return Left(
        few=rounded(float(few), up=False),
        many=max(rounded(float(many), up=True), LEAST_STROKES if many > 0 else 0),
        dose_um=dose,
        strokes=strokes,
        sheets=int(np.ceil((run.sheet_age + middle) / life)) if middle > 0 else 0,
    )


def strokes_for(
    known: Removal,
    run: Run,
    dose_um: Array,
    which: NDArray[np.intp],
    rng: np.random.Generator,
) -> Array:
    """Draw how many strokes each dose takes, for the hypotheses ``which``."""
    held = known.held
    # The rate is drawn for a fresh sheet, and each sheet wears from there.
    here = rate_on(held, replace(run, sheet_age=0.0), known.prior)
    z = rng.standard_normal((4, dose_um.size))
    # What differs from run to run evens out over many.
    runs = np.maximum(dose_um / np.exp(here.mean[which]) / RUN_STROKES, 1.0)
    off = here.lasting[which] * z[0] + here.own / np.sqrt(runs) * z[2]
    off += MODEL_SPREAD * z[3]
    rate = np.exp(here.mean[which] + off)
    wear_u = np.sqrt(held.cov[which, 1, 1])
    wear = np.clip(held.mean[which, 1] + wear_u * z[1], *WEARS) / 100
    # What is left of this sheet, then whole sheets, then a part of one.
    life = spent_after(wear)
    left = np.maximum(life - run.sheet_age, 0.0)
    sheet_dose = rate * _worth(wear, 0.0, life)
    here_dose = rate * _worth(wear, run.sheet_age, left)
    rest = np.maximum(dose_um - here_dose, 0.0)
    whole = np.floor(rest / sheet_dose)
    part = rest - whole * sheet_dose
    first = _strokes_of(rate, wear, run.sheet_age, np.minimum(dose_um, here_dose))
    strokes = first + whole * life + _strokes_of(rate, wear, 0.0, part)
    return np.asarray(np.minimum(strokes, MOST_STROKES))


def spent_after(wear: Array) -> Array:
    """Give the strokes after which a sheet cuts at SPENT of its first rate."""
    share = (SPENT - LASTING_SHARE) / (1 - LASTING_SHARE)
    return np.asarray(np.log(1 / share) / wear)


def _worth(wear: Array, age: float, strokes: Array) -> Array:
    """Give what strokes on a sheet of some age are worth, in strokes on a fresh one."""
    faded = np.exp(-wear * age) * -np.expm1(-wear * strokes) / wear
    return np.asarray(LASTING_SHARE * strokes + (1 - LASTING_SHARE) * faded)


def _strokes_of(rate: Array, wear: Array, age: float, dose_um: Array) -> Array:
    """Give the strokes that take off a dose, no more than a sheet gives till spent."""
    low, high = np.zeros_like(rate), np.maximum(spent_after(wear) - age, 0.0)
    for _ in range(40):
        middle = (low + high) / 2
        enough = rate * _worth(wear, age, middle) >= dose_um
        low, high = np.where(enough, low, middle), np.where(enough, middle, high)
    return np.asarray(high)


def as_counted(strokes: tuple[float, float]) -> tuple[int, int]:
    """Give a range of strokes as a person counts them, at least a few."""
    few, many = strokes
    return rounded(few, up=False), max(rounded(many, up=True), LEAST_STROKES)


def rounded(strokes: float, *, up: bool) -> int:
    """Round to what a person counts: tens, then fifties, then hundreds."""
    step = 10 if strokes < 200 else 50 if strokes < 1000 else 100
    whole = np.ceil(strokes / step) if up else np.floor(strokes / step)
    return int(whole) * step
