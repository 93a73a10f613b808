"""Does the face take a shape that a flat lap would take away?

A flat lap moves bows and twist towards nothing. One that grows, or stays under fresh
paper, comes from the lap's own shape or from hands that rock; the two look alike, and
only a map of the lap tells them apart.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.removal.changes import change
from lapping.removal.glance import Glance
from lapping.removal.job import Lap
from lapping.removal.learnt import Stage
from lapping.signs.lap import lap_form_on
from lapping.signs.sign import Name, Sign

Array = NDArray[np.float64]

LOOKS_BACK = (1, 2, 3, 4, 6, 9, 13, 18)
"""The last look is held against those so many before it: slow growth needs long."""
SURE, TWICE = 3.0, 2.4
"""A part of the form grows when it is past what a flat lap leaves by so many u, or
twice running by so many: with three parts and some looks back, once in a hundred jobs
by chance."""
CLEAR, MODEL_SHARE = 2.0, 0.35
"""Growth by so many u is enough where the face is past what a flat lap should have made
of it by as many as SURE, the flat lap's own work known to this share."""
LEAST_UM, LEAST_SHARES = 2.0, (0.05, 0.15, 0.05)
"""Less growth than this, or this share of the target, is no trouble; more of it across,
where edges always come down a little first on springy paper."""
LEAVES_WIDER = 1.5
"""Leaves are read in steps and at the rim: more doubt than their own u say."""
NAMES: tuple[tuple[Name, Name], ...] = (
    ("hollow growing", "crown growing"),
    ("hollow growing", "crown growing"),
    ("twist growing", "twist growing"),
)
WORDS = ("along", "across", "twist")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """The looks at a face between which all was done on one lap and in one way.

    ``slips`` are places of readings that no wear explains, ``heat`` the crown in µm
    that heat may have added to a look, by its number, and ``stages`` what was done.
    """

    glances: tuple[Glance, ...]
    slips: tuple[tuple[float, float], ...]
    heat: Mapping[int, float]
    stages: tuple[Stage, ...]

    def heat_um(self, one: Glance) -> float:
        """Give the crown that heat may have added to a look."""
        return self.heat.get(one.look.number, 0.0)

    def by_flat_lap(self, since: Glance, part: int) -> float:
        """Give how a flat lap would have changed a part of the form since a look."""
        last = self.glances[-1].look.number
        return sum(
            float(stage.flat_form_um[part])
            for stage in self.stages
            if since.look.number <= stage.before.look.number
            and stage.after.look.number <= last
        )


def form_signs(seen: Seen, lap: Lap | None, target_um: float) -> list[Sign]:
    """Say which parts of the form grew that should have shrunk."""
    found: list[Sign] = []
    unit = seen.glances[-1].look.shown_in
    for part in range(3):
        now = _growth(seen, part)
        if now is None:
            continue
        earlier = replace(seen, glances=seen.glances[:-1])
        before = _growth(earlier, part)
        again = before is not None and min(now.sure, before.sure) > TWICE
        wide = now.sure > CLEAR and now.short > SURE
        least = max(LEAST_UM, LEAST_SHARES[part] * target_um)
        if now.um < least or not (now.sure > SURE or again or wide):
            continue
        um = float(seen.glances[-1].form_um[part])
        name = NAMES[part][int(um > 0)]
        what = WORDS[part] if part == 2 else f"{name.split()[0]} {WORDS[part]}"
        found.append(
            Sign(
                name=name,
                says=(
                    f"{what} is {unit.said(abs(um))} and grew by "
                    f"{unit.said(now.um, 2 * now.u_um)} in the last {now.since}: a "
                    "flat lap and a steady hand take it away"
                ),
                um=now.um,
            )
        )
        found += lap_or_hand(seen, part, um, lap)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """How far a part of the form is past what a flat lap leaves, and since when.

    ``short`` is by how many u it is past where a flat lap would have brought it, which
    counts what it should have lost as well.
    """

    um: float
    u_um: float
    short: float
    since: str

    @property
    def sure(self) -> float:
        """Give by how many u it grew."""
        return self.um / self.u_um


def _growth(seen: Seen, part: int) -> Growth | None:
    """Give how far a part of the form is past what a flat lap leaves, the surest.

    None where the last stage alone took some of it away: what made it grow is gone.
    """
    glances = seen.glances
    if len(glances) < 2:
        return None
    last = glances[-1]
    latest = change(glances[-2], last, seen.slips)
    if latest is not None:
        moved = float(latest.form_um[part]) * np.sign(last.form_um[part])
        if moved < -float(latest.form_u_um[part]):
            return None
    best: Growth | None = None
    for back in LOOKS_BACK:
        if back >= len(glances):
            break
        found = _since(seen, part, back)
        # Nor must one look: it shows since the one before it too.
        if found is not None and back + 1 < len(glances):
            longer = _since(seen, part, back + 1)
            if longer is not None and longer.sure < found.sure:
                found = longer
        if found is not None and (best is None or found.sure > best.sure):
            best = found
    return best


def _since(seen: Seen, part: int, back: int) -> Growth | None:
    """Give how far a part of the form is past what a flat lap left since a look."""
    before, last = seen.glances[-1 - back], seen.glances[-1]
    moved = change(before, last, seen.slips)
    if moved is None:
        return None
    u = float(moved.form_u_um[part])
    if any(s.method == "feeler" for s in last.look.sets):
        u *= LEAVES_WIDER
    pairs = ((before.form_um[part], 1.0), (last.form_um[part], -1.0))
    # One reading must not make it: the least that any of the others leaves.
    by = np.append(moved.without_one_um[:, part], moved.form_um[part])
    grew = min(
        float(_beyond(np.array(at), at + way * by, way).min()) for at, way in pairs
    )
    way = float(np.sign(last.form_um[part]))
    due = way * seen.by_flat_lap(before, part)
    short = (grew - due) / float(np.hypot(u, MODEL_SHARE * due))
    grew -= max(due, 0.0)
    if part == 0:
        # A face that was crowned by heat before reads hollower now that it has cooled.
        warmer = way * (seen.heat_um(last) - seen.heat_um(before))
        grew, u = grew - max(warmer, 0.0), float(np.hypot(u, warmer / 2))
    since = "stage" if back == 1 else f"{back} stages"
    return Growth(um=grew, u_um=u, short=short, since=since)


def _beyond(known: Array, other: Array, way: float) -> Array:
    """Give how far the later of two values is past what a flat lap leaves of the first.

    One that passed through nothing counts only beyond it.
    """
    then, now = (known, other) if way > 0 else (other, known)
    return np.where(now * then < 0, np.abs(now), np.abs(now) - np.abs(then))


def lap_or_hand(seen: Seen, part: int, um: float, lap: Lap | None) -> list[Sign]:
    """Tell the lap from the hand, where the lap has a map.

    Nothing is told of a hollow along where heat may have made it: what is lapped while
    it is crowned by heat cools hollow.
    """
    last = seen.glances[-1]
    if part == 0 and um < 0 and max(seen.heat.values(), default=0.0) > -um / 2:
        return []
    if lap is None or lap.form is None or lap.face is None:
        return []
    given = float(lap_form_on(last.face, lap.form, lap.face)[part])
    said = last.look.shown_in.said(abs(given))
    if given * um > 0 and abs(given) >= abs(um) / 2:
        return [
            Sign(
                name="lap not flat",
                says=(
                    f"by its own map the lap {lap.name} gives this face "
                    f"{said} of just that"
                ),
                um=abs(given),
            )
        ]
    return [
        Sign(
            name="rocking",
            says=(
                f"by its own map the lap {lap.name} gives this face no more than "
                f"{said} of that, so it is the hand that rocks"
            ),
            um=abs(um - given),
        )
    ]
