"""Does the face take a shape that a flat lap would take away?

A flat lap moves bows and twist towards nothing. One that grows, or stays under fresh
paper, comes from the lap's own shape or from hands that rock; the two look alike, and
only a map of the lap tells them apart.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lapping.dose_seen import DOSES_UM
from lapping.face import Face
from lapping.form import Form
from lapping.glance import Glance, change
from lapping.job import Lap
from lapping.lap_limit import lap_limit_um
from lapping.removal import Removal, Stage
from lapping.signs import Name, Sign

Array = NDArray[np.float64]

LOOKS_BACK = 4
SURE, TWICE = 3.5, 2.4
"""A part of the form grows when it is past what a flat lap leaves by so many u, or
twice running by so many: with three parts and some looks back, once in a hundred jobs
by chance."""
LEAST_UM = 2.0
STAYS = 30.0
"""A face stays as it was when that is so many times as likely as what was expected."""
NAMES: tuple[tuple[Name, Name], ...] = (
    ("hollow growing", "crown growing"),
    ("hollow growing", "crown growing"),
    ("twist growing", "twist growing"),
)
Slips = Sequence[tuple[float, float]]
WORDS = ("along", "across", "twist")


def form_signs(
    glances: Sequence[Glance],
    lap: Lap | None,
    heat_um: float = 0.0,
    slips: Slips = (),
) -> list[Sign]:
    """Say which parts of the form grew that should have shrunk.

    ``heat_um`` is a crown along that heat may have added to the last look. The
    glances are those on this lap, the last one of them the newest. ``slips`` are
    places of readings that no wear explains.
    """
    found: list[Sign] = []
    for part in range(3):
        now = _growth(glances, part, heat_um if part == 0 else 0.0, slips)
        if now is None:
            continue
        grew, u, since = now
        before = _growth(glances[:-1], part, 0.0, slips) if len(glances) > 2 else None
        again = before is not None and min(grew / u, before[0] / before[1]) > TWICE
        if grew < LEAST_UM or not (grew > SURE * u or again):
            continue
        um = float(glances[-1].form_um[part])
        name = NAMES[part][int(um > 0)]
        what = WORDS[part] if part == 2 else f"{name.split()[0]} {WORDS[part]}"
        found.append(
            Sign(
                name=name,
                says=(
                    f"{what} is {abs(um):.0f} µm and grew by {grew:.0f} ± {2 * u:.0f} "
                    f"in the last {since}: a flat lap and a steady hand take it away"
                ),
                um=grew,
            )
        )
        found += _why(glances[-1], part, um, lap)
    return found


def lap_signs(face: Face, target_um: float, lap: Lap | None) -> list[Sign]:
    """Say that a lap cannot give the target, by its map or by what is stated of it."""
    if lap is None:
        return []
    limit = _limit(face, lap)
    if limit is not None and limit > target_um:
        return [
            Sign(
                name="lap not flat",
                says=(
                    f"by its own map the lap {lap.name} leaves this face no flatter "
                    f"than {limit:.0f} µm, and {target_um:g} is wanted"
                ),
                um=limit,
            )
        ]
    return []


def stays_sign(known: Removal) -> list[Sign]:
    """Say that the face did not change under fresh paper, though it should have."""
    if not known.stages:
        return []
    stage = known.stages[-1]
    if stage.seen is None or not _is_fresh(stage):
        return []
    weight = known.held.weight
    log_doses = np.log(DOSES_UM)
    mean, spread = stage.expected.mean[:, None], stage.expected.spread[:, None]
    belief = np.exp(-0.5 * ((log_doses - mean) / spread) ** 2)
    # As it was: a tenth of what was expected, and less.
    little = (log_doses < mean + np.log(0.1)).astype(np.float64)
    if not little.any(axis=1).all():
        return []
    likelihood = np.exp(stage.seen.log_likelihood)
    alive = (likelihood * belief).sum(axis=1) / belief.sum(axis=1)
    still = (likelihood * little).sum(axis=1) / little.sum(axis=1)
    ratio = float(weight @ still) / max(float(weight @ alive), 1e-300)
    if ratio < STAYS:
        return []
    many = sum(run.strokes for run in stage.runs)
    usual = float(np.exp(weight @ stage.expected.mean))
    return [
        Sign(
            name="shape stays",
            says=(
                f"{many:.0f} strokes on fresh paper did not change the face, where "
                f"{usual:.0f} µm should have come "
                "off: the lap's own shape or a rocking hand may be keeping it"
            ),
        )
    ]


def lap_form_on(face: Face, form: Form, lap: Face) -> Array:
    """Give the form (3,) that a face takes from a lap: bows turned over, twist not."""
    bows = (form.along_bow, form.across_bow, form.twist)
    long = face.length_mm / lap.length_mm
    wide = face.width_mm / lap.width_mm
    scale = np.array([-(long**2), -(wide**2), long * wide])
    return scale * [0.0 if one is None else one.um for one in bows]


def _growth(
    glances: Sequence[Glance], part: int, heat_um: float, slips: Slips
) -> tuple[float, float, str] | None:
    """Give how far a part of the form is past what a flat lap leaves, the surest.

    None where the last stage alone took some of it away: what made it grow is gone.
    """
    if len(glances) < 2:
        return None
    last = glances[-1]
    latest = change(glances[-2], last, slips)
    if latest is not None:
        moved = float(latest.form_um[part]) * np.sign(last.form_um[part])
        if moved < -float(latest.form_u_um[part]):
            return None
    best: tuple[float, float, str] | None = None
    for back, before in enumerate(reversed(glances[-1 - LOOKS_BACK : -1]), start=1):
        moved = change(before, last, slips)
        if moved is None:
            continue
        now = float(last.form_um[part])
        then = now - float(moved.form_um[part])
        u = float(moved.form_u_um[part])
        if now * then < 0:
            # It passed through nothing: only what lies beyond counts.
            grew, u = abs(now), float(last.form_u_um[part])
        else:
            grew = abs(now) - abs(then)
        if now > 0:
            grew, u = grew - heat_um / 2, float(np.hypot(u, heat_um / 4))
        since = "stage" if back == 1 else f"{back} stages"
        if best is None or grew / u > best[0] / best[1]:
            best = (grew, u, since)
    return best


def _why(last: Glance, part: int, um: float, lap: Lap | None) -> list[Sign]:
    """Tell the lap from the hand, where the lap has a map."""
    if lap is None or lap.form is None or lap.face is None:
        return []
    given = float(lap_form_on(last.surface.face, lap.form, lap.face)[part])
    if given * um > 0 and abs(given) >= abs(um) / 2:
        return [
            Sign(
                name="lap not flat",
                says=(
                    f"by its own map the lap {lap.name} gives this face "
                    f"{abs(given):.0f} µm of just that"
                ),
                um=abs(given),
            )
        ]
    return [
        Sign(
            name="rocking",
            says=(
                f"by its own map the lap {lap.name} gives this face no more than "
                f"{abs(given):.0f} µm of that, so it is the hand that rocks"
            ),
            um=abs(um - given),
        )
    ]


def _limit(face: Face, lap: Lap) -> float | None:
    if lap.form is not None and lap.face is not None:
        return lap_limit_um(lap.form, lap.face, face)
    return None


def _is_fresh(stage: Stage) -> bool:
    return all(r.aged_surely for r in stage.runs) and stage.runs[0].sheet_age == 0
