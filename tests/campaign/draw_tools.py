"""Draw laps, papers and gauges for a job."""

from __future__ import annotations

import numpy as np

from lapping.face import Face
from tests.campaign.dial import Dial
from tests.campaign.edges import LeavesOnPlate, Straightedge
from tests.campaign.leaves import make_leaves
from tests.campaign.surroundings import GRADES, Grade, Make, Surface


def draw_lap(
    rng: np.random.Generator, face: Face, target_um: float, *, bad: bool
) -> tuple[Surface, Surface]:
    """Draw the lap in use and a better one to be had; a bad one copies into the face.

    The copy of a bad lap is 0.5 to 1.3 of the target, mostly bow, seldom twist too;
    that of a good one is below a fifteenth.
    """
    length = round(float(face.length_mm * rng.uniform(1.6, 2.6) + 120), -1)
    width = float(rng.integers(16, 31) * 10)
    share = rng.uniform(0.5, 1.3) if bad else rng.uniform(-1, 1) / 15
    along = float(share * target_um * rng.choice([-1, 1]))
    twist = float(rng.normal(0, 0.15) * abs(along) if bad else rng.normal(0, 1.0))
    across = float(rng.normal(0, 2.0))
    lap = Surface(
        name="worktop" if bad else "glass on the bench",
        kind="other" if bad else "glass",
        length_mm=length,
        width_mm=width,
        along_bow_um=along * (length / face.length_mm) ** 2,
        across_bow_um=across,
        twist_um=twist * length * width / (face.length_mm * face.width_mm),
        dip_um=float(rng.exponential(2.0)),
        dip_along_mm=float(rng.uniform(0.2, 0.8) * length),
        dip_across_mm=float(rng.uniform(0.3, 0.7) * width),
    )
    better = Surface(
        name="stone plate",
        kind="plate",
        length_mm=length,
        width_mm=width,
        along_bow_um=float(rng.normal(0, 2.0)),
        across_bow_um=float(rng.normal(0, 1.0)),
        twist_um=float(rng.normal(0, 1.5)),
        stated="8 um",
    )
    return lap, better


def draw_papers(
    rng: np.random.Generator, *, short: bool
) -> tuple[tuple[Grade, ...], Make, int | None]:
    """Draw the papers on hand, coarse to fine, their make, and the habit of renewing.

    ``short`` papers die early and are kept on the lap until somebody says so.
    """
    chosen = (
        ("P80", "P120", "P240"), ("P80", "P180"), ("P120", "P240"), ("P120",),
        ("P80", "P120", "P220", "P400"), ("P180", "P320"),
    )[rng.integers(6)]  # fmt: skip
    life = float(rng.uniform(90, 180) if short else rng.uniform(200, 500))
    make = Make(
        p80_um=float(np.exp(rng.normal(np.log(14.0), 0.35))),
        by_grain=float(rng.uniform(0.6, 1.0)),
        life_strokes=life,
        life_power=float(rng.uniform(0.7, 1.1)),
        floor=float(rng.uniform(0.05, 0.15)),
        clogs=float(rng.uniform(0, 0.6)),
        by_pressure=float(rng.uniform(0.85, 1.1)),
        # The trade says 0.1 to 0.5, handbooks measured 0.03 to 0.07 on soft brass.
        scratch_share=float(np.exp(rng.uniform(*np.log((0.04, 0.3))))),
    )
    habit = None if short else int(round(life * rng.uniform(0.7, 1.4), -1))
    return tuple(g for g in GRADES if g.name in chosen), make, habit


def draw_gauges(
    rng: np.random.Generator, target_um: float, kind: str
) -> tuple[Dial | LeavesOnPlate | Straightedge, Dial | None]:
    """Draw the gauge in use and, for those who have one, a better."""
    plate = Surface(
        name="reading plate",
        kind="plate",
        length_mm=630,
        width_mm=400,
        along_bow_um=float(rng.normal(0, 1.5)),
        across_bow_um=float(rng.normal(0, 1.0)),
        twist_um=float(rng.normal(0, 1.5)),
        stated="6 um",
    )
    if kind == "leaves":
        leaves = LeavesOnPlate(name="leaves", leaves=make_leaves(rng), plate=plate)
        return leaves, _dial(rng, 2.0, plate) if rng.random() < 0.3 else None
    if kind == "edge":
        edge = Straightedge(
            name="straightedge",
            leaves=make_leaves(rng),
            bow_um=float(rng.normal(0, 1.0)),
            stated="5 um",
            sticks_mm=400.0 if rng.random() < 0.5 else None,
        )
        return edge, None
    if kind == "coarse":
        u = target_um / float(rng.uniform(2.5, 6))
        fine = _dial(rng, target_um / 20, plate) if rng.random() < 0.7 else None
        return _dial(rng, u, plate), fine
    return _dial(rng, float(rng.uniform(1.0, target_um / 13)), plate), None


def _dial(rng: np.random.Generator, u_um: float, plate: Surface) -> Dial:
    """Draw an indicator of about this uncertainty; its step is a usual one below it."""
    steps = np.array([0.5, 1.0, 2.0, 5.0, 10.0, 20.0])
    step = float(steps[steps <= max(1.5 * u_um, 0.5)].max())
    noise = max(u_um**2 - step**2 / 12, (0.3 * u_um) ** 2) ** 0.5
    return Dial(
        name=f"dial {step:g} um",
        noise_um=float(noise),
        step_um=step,
        many=((5, 3), (7, 3), (7, 3), (9, 3))[rng.integers(4)],
        stated=bool(rng.random() < 0.6),
        plate=plate,
        high_positive=bool(rng.random() < 0.7),
        drift_um=float(rng.uniform(0, u_um)),
    )
