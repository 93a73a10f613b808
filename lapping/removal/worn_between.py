"""What the strokes left standing between the places read.

Readings alone leave bumps and hollows possible between them in equal measure. Strokes
do not: a bump on metal that bears presses deeper into the paper and goes faster than
what is around it. By the model of wear (`dose`) its height over its surroundings falls
by exp(-dose/give) while it bears; hollows and all that did not bear yet stay as they
are. So the surfaces that the readings leave possible lose that share of their bumps,
where the metal around them has borne since the face was first read. Bows and twist are
left as read: lap and hand can make them grow.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lapping.observations import form_terms, plane_terms
from lapping.removal.dose_seen import GIVES_UM
from lapping.removal.glance import Glance
from lapping.removal.job import Job
from lapping.removal.learnt import Removal
from lapping.removal.rates import expected
from lapping.surface.posterior import Surface
from lapping.wear.dose import worn_down

Array = NDArray[np.float64]

STAYS = 0.4
"""This share of a bump stays however long it bears: metal that is harder than the rest,
a dip in the lap, a sheet that lies uneven. An assumption."""
STEPS = 10
BORE_UM = 0.02
"""Less than this off in a step is no contact."""
LEAST_WEIGHT = 0.01
TAIL = 2.0
"""Doses are worked out up to so many of their spreads above the middle."""


def worn_between(
    surface: Surface, first: Glance, upto: int, job: Job, known: Removal, seed: int = 7
) -> Array:
    """Give the surfaces left possible (draws, metal grid) without what was worn away.

    ``first`` is the first look at the face, ``upto`` the number of the look that
    ``surface`` is from. With no strokes between the two they are those of the readings.
    """
    p = surface.places
    drawn = surface.draws_um[:, p:]
    runs = job.runs_between(first.look.number, upto)
    if not runs or first.unseen:
        return drawn
    off = expected(known.held, runs, known.prior)
    weight = np.where(known.held.weight >= LEAST_WEIGHT, known.held.weight, 0.0)
    rng = np.random.default_rng(seed)
    which = rng.choice(weight.size, size=len(drawn), p=weight / weight.sum())
    dose = np.exp(
        off.mean + off.spread * rng.standard_normal((len(drawn), weight.size))
    )
    dose = dose[np.arange(len(drawn)), which]
    stays = np.ones_like(drawn)
    for give in np.unique(GIVES_UM[which]):
        here = GIVES_UM[which] == give
        bore = _bore(first, float(give), dose[here])
        stays[here] = STAYS + (1 - STAYS) * np.exp(-bore / give)
    return _lowered(surface, drawn, stays)


def _bore(first: Glance, give_um: float, dose_um: Array) -> Array:
    """Give the dose during which each place bore (draws, places), of doses (draws,)."""
    most = float(np.quantile(dose_um, 0.975))
    steps = np.linspace(0.0, most, STEPS + 1)
    worn = worn_down(first.face, first.grid_um[None], np.array([give_um]), steps)[:, 0]
    bears = -np.diff(worn, axis=0) > BORE_UM * most / STEPS
    bore = np.vstack([np.zeros(worn.shape[1]), np.cumsum(bears, axis=0)]) * steps[1]
    at = np.minimum(dose_um / steps[1], STEPS - 1e-9)
    low = at.astype(np.intp)
    share = (at - low)[:, None]
    return np.asarray((1 - share) * bore[low] + share * bore[low + 1])


def _lowered(surface: Surface, drawn: Array, stays: Array) -> Array:
    """Lower what stands over the mean surface, plane and form apart, to its share."""
    p = surface.places
    along, across = surface.along_mm[p:], surface.across_mm[p:]
    terms = np.column_stack(
        [
            form_terms(surface.face, along, across),
            plane_terms(surface.face, along, across),
        ]
    )
    off = drawn - surface.mean_um[p:]
    rough = off - off @ np.linalg.pinv(terms).T @ terms.T
    return np.asarray(drawn - np.maximum(rough, 0.0) * (1 - stays))


def worn_at(
    surface: Surface, glances: Sequence[Glance], upto: int, job: Job, known: Removal
) -> Array:
    """Give the same from the first of some looks that shows every shape."""
    first = next((one for one in glances if not one.unseen), None)
    if first is None or first.look.number >= upto:
        return surface.draws_um[:, surface.places :]
    return worn_between(surface, first, upto, job, known)
