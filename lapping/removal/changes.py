"""How a face changed from one look to a later one, at the places that both read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.heights import Heights
from lapping.observations import form_terms, plane_terms
from lapping.removal.glance import FEWEST_SHARED, TO_FORM, Glance

Array = NDArray[np.float64]

SAME_MM = 3.0
"""Places of two looks nearer together than this are one place, written twice."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Change:
    """How the face changed from one look to a later one, up to a plane.

    ``fell_um`` (n,) is how far each shared place came down, positive, up to a plane of
    its own; ``cov`` (n, n) its covariance from both gauges. ``form_um`` (3,) is the
    change of along-bow, across-bow and twist with its ``form_u_um``, and
    ``without_one_um`` (n, 3) what it is without each of the places.
    """

    along_mm: Array
    across_mm: Array
    fell_um: Array
    cov: Array
    form_um: Array
    form_u_um: Array
    without_one_um: Array

    def cooled(self, face: Face, crown_um: float, u_um: float) -> Change:
        """Take out a crown along by which heat bent the later look more.

        ``u_um`` is how well that is known.
        """
        bent = form_terms(face, self.along_mm, self.across_mm)[:, 0]
        form = self.form_um - [crown_um, 0.0, 0.0]
        return replace(
            self,
            fell_um=self.fell_um - crown_um * bent,
            cov=self.cov + u_um**2 * np.outer(bent, bent),
            form_um=form,
            form_u_um=np.hypot(self.form_u_um, [u_um, 0.0, 0.0]),
            without_one_um=self.without_one_um - [crown_um, 0.0, 0.0],
        )


def change(
    before: Glance, after: Glance, without: Sequence[tuple[float, float]] = ()
) -> Change | None:
    """Compare two looks at the places that both read; None with too few of those.

    None too where either leaves a bow or twist open. A plate that is not the same in
    both adds its doubt to the form. Places ``without`` (along, across) take no part.
    """
    if before.unseen or after.unseen:
        return None
    first, second = _shared(before.heights, after.heights, without)
    if first.size < FEWEST_SHARED:
        return None
    face = after.face
    along, across = after.heights.along_mm[second], after.heights.across_mm[second]
    columns = np.column_stack(
        [form_terms(face, along, across), plane_terms(face, along, across)]
    )
    if np.linalg.matrix_rank(columns) < 6:
        return None
    roots = np.hstack([before.root[first], after.root[second]])
    inverse = np.asarray(np.linalg.pinv(columns), dtype=np.float64)
    solve = TO_FORM[:, None] * inverse[:3]
    fell = before.heights.height_um[first] - after.heights.height_um[second]
    variance = ((solve @ roots) ** 2).sum(axis=1)
    if before.plate != after.plate:
        variance += _plate_variance(before) + _plate_variance(after)
    return Change(
        along_mm=along,
        across_mm=across,
        fell_um=fell,
        cov=roots @ roots.T,
        form_um=-(solve @ fell),
        form_u_um=np.sqrt(variance),
        without_one_um=_without_one(columns, inverse, solve, fell),
    )


def _without_one(columns: Array, inverse: Array, solve: Array, fell: Array) -> Array:
    """Give the change of form without each place (the usual deletion formula)."""
    hat = (columns * inverse.T).sum(axis=1)
    left = fell - columns @ (inverse @ fell)
    # A place that alone holds a coefficient cannot be spared.
    weight = np.where(hat < 1 - 1e-6, left / np.maximum(1 - hat, 1e-6), 0.0)
    return np.asarray(-(solve @ fell) + (solve * weight).T)


def _plate_variance(one: Glance) -> Array:
    stated = [s.reference_flatness_um or 0.0 for s in one.look.sets]
    return np.asarray((max(stated, default=0.0) / 4 * TO_FORM) ** 2)


def _shared(
    one: Heights, other: Heights, without: Sequence[tuple[float, float]]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pair the places that both read, each with the nearest of the other."""
    apart = np.hypot(
        one.along_mm[:, None] - other.along_mm, one.across_mm[:, None] - other.across_mm
    )
    nearest = apart.argmin(axis=1)
    back = apart.argmin(axis=0)
    mine = np.arange(len(one))
    good = (apart[mine, nearest] <= SAME_MM) & (back[nearest] == mine)
    for along, across in without:
        off = np.hypot(one.along_mm - along, one.across_mm - across)
        good &= off > SAME_MM
    return mine[good], nearest[good]
