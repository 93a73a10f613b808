"""A cheap look at one set of readings: heights, form and flatness with their doubt.

The whole answer of a face takes twice as long; of a long history every look but the
last is only glanced at. The figures are the same ones, from fewer drawn surfaces.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from lapping.errors import TooFewReadings
from lapping.face import Face
from lapping.heights import Heights
from lapping.methods.combine import combine
from lapping.methods.network import adjust
from lapping.methods.take import take_each
from lapping.methods.turning import share_the_plate
from lapping.observations import Observations, form_terms, plane_terms
from lapping.one_face import one_face
from lapping.readings import too_few_places
from lapping.removal.job import Look
from lapping.surface.form import unseen_shapes
from lapping.surface.posterior import Surface, infer_surface
from lapping.zone.minimum_zone_many import minimum_zone_many

Array = NDArray[np.float64]

DRAWS = 100
KEPT = 48
"""Looks that are kept, for who asks again after every reading."""
FEWEST_SHARED = 6
"""A plane and a form have six coefficients."""
TO_FORM = np.array([-1.0, -1.0, 4.0])
"""From the coefficients of the form to along-bow, across-bow and twist in µm."""


# No slots: what only some looks are asked for is worked out when they are.
@dataclass(frozen=True, kw_only=True, eq=False)
class Glance:
    """What one look showed, the plate it was read on taken as it is.

    ``form_um`` (3,) holds along-bow, across-bow and twist with crown positive;
    ``form_root`` (3, r) the root of their covariance from the gauge alone, so that
    what two looks share takes no part in their difference.
    """

    look: Look
    face: Face
    observations: Observations
    heights: Heights
    root: Array
    plate: tuple[object, ...]
    unseen: tuple[str, ...]
    form_um: Array
    form_root: Array

    @property
    def form_u_um(self) -> Array:
        """Give the standard uncertainties of the form from the gauge alone, (3,)."""
        return np.asarray(np.sqrt((self.form_root**2).sum(axis=1)))

    @cached_property
    def surface(self) -> Surface:
        """Give the surfaces that are possible, a few of them."""
        obs = _as_values(self.observations)
        return infer_surface(self.face, obs, draws=DRAWS, doubt_each=False)

    @property
    def likely_um(self) -> float | None:
        """Give the likely flatness of the whole face; None while a shape is unseen."""
        return None if self.unseen else self._flatness_um[1]

    @property
    def interval_um(self) -> tuple[float, float] | None:
        """Give the 95 % interval of the flatness; None while a shape is unseen."""
        return None if self.unseen else self._flatness_um[::2]

    @cached_property
    def _flatness_um(self) -> tuple[float, float, float]:
        on = self.surface
        drawn = minimum_zone_many(on.along_mm, on.across_mm, on.draws_um)
        low, middle, high = np.quantile(drawn, [0.025, 0.5, 0.975]).tolist()
        return low, middle, high

    @property
    def grid_um(self) -> Array:
        """Give the mean surface on the metal grid."""
        return self.surface.mean_um[self.surface.places :]


@lru_cache(maxsize=KEPT)
def glance(look: Look) -> Glance:
    """Work out what one look shows; TooFewReadings where it shows no surface."""
    lines = [s for s in look.sets if s.method != "square"]
    if not lines or all(s.method == "winding" for s in lines):
        message = "no heights were read: a square and winding sticks show none"
        raise TooFewReadings(message)
    face = one_face(lines)
    taken = combine(face, share_the_plate(face, lines, take_each(lines)))
    obs = taken.observations
    trouble = too_few_places(
        set(zip(obs.along_mm.tolist(), obs.across_mm.tolist(), strict=True))
    )
    if trouble:
        raise TooFewReadings(trouble)
    network = adjust(face, obs)
    heights = network.heights
    columns = np.column_stack(
        [
            form_terms(face, heights.along_mm, heights.across_mm),
            plane_terms(face, heights.along_mm, heights.across_mm),
        ]
    )
    if len(heights) < FEWEST_SHARED or np.linalg.matrix_rank(columns) < 6:
        message = (
            f"{len(heights)} places show no bow and twist; read at least "
            f"{FEWEST_SHARED}, in three rows along and across"
        )
        raise TooFewReadings(message)
    solve = form_solve(face, heights.along_mm, heights.across_mm)
    return Glance(
        look=look,
        face=face,
        observations=obs,
        heights=heights,
        root=network.root,
        plate=tuple((s.method, s.reference_flatness_um) for s in lines),
        unseen=unseen_shapes(face, obs),
        form_um=solve @ heights.height_um,
        form_root=solve @ network.root,
    )


def _as_values(obs: Observations) -> Observations:
    """Take the middles of intervals for values, and leave out what has no other end.

    The intervals themselves take far longer, and are for the look that matters.
    """
    kept = ~obs.is_interval | (np.isfinite(obs.low_um) & np.isfinite(obs.high_um))
    inside = obs.is_interval[kept]
    low, high = obs.low_um[kept], obs.high_um[kept]
    half = np.where(inside, (high - low) / 2, 0.0)
    value = np.where(inside, (low + high) / 2, obs.value_um[kept])
    return replace(
        obs,
        weights=obs.weights[kept],
        value_um=value,
        u_um=np.hypot(obs.u_um[kept], half / 3**0.5),
        low_um=value,
        high_um=value,
        unknowns=obs.unknowns[kept],
    )


def form_solve(face: Face, along_mm: Array, across_mm: Array) -> Array:
    """Give the matrix (3, n) from heights to along-bow, across-bow and twist in µm."""
    columns = np.column_stack(
        [form_terms(face, along_mm, across_mm), plane_terms(face, along_mm, across_mm)]
    )
    return np.asarray(TO_FORM[:, None] * np.linalg.pinv(columns)[:3])
