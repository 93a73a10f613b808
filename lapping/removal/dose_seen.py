"""How much metal came off between two looks: the likelihood of each dose.

The face as it was read first is worn down in thought by every dose on a list and for
every give of the paper on another, and what that would have taken off each place is
held against what came off. Where three well-spread hollows that did not touch are
among the places, only one dose fits; where the whole face bears, dose and give fit in
every proportion and only their ratio shows. No case needs to be told apart for that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import Grid
from lapping.observations import form_terms, plane_terms, scaled
from lapping.removal.changes import Change
from lapping.removal.glance import TO_FORM, Glance, form_solve
from lapping.wear.dose import each_dose

Array = NDArray[np.float64]

DOSES_UM = np.geomspace(0.1, 400.0, 25)
_GIVES_UM = np.geomspace(1.0, 64.0, 5)
_DRAWN_UM = np.array(
    [
        (0.0, 0.0, 0.0),
        *((um, 0.0, 0.0) for um in (-60.0, -30.0, -15.0, 15.0, 30.0, 60.0)),
        *((0.0, 0.0, um) for um in (-80.0, -40.0, 40.0, 80.0)),
    ]
)
GIVES_UM = np.repeat(_GIVES_UM, len(_DRAWN_UM))
"""Mean depth by which a face presses into its paper, in µm, of every hypothesis. No
figure was found: from what the smooth backing of a sheet gives under a hand to the
height of coarse grains."""
DRAWN_UM = np.tile(_DRAWN_UM, (_GIVES_UM.size, 1))
"""Along-bow, across-bow and twist in µm to which lap and hand draw a face, of every
hypothesis; nothing on a flat lap under a steady hand."""
UNLIKE_SHARE, UNLIKE_UM = 0.2, 0.3
"""How uneven the wear is may differ from the model's by so much at each place."""
HAND_SHARE = 0.3
"""By this share more comes off at one end or side edge and less at the other, as a hand
off the middle by a twentieth of the size makes it; a standard deviation."""
UNLIKE_FORM_SHARE, UNLIKE_CHANGE_SHARE, UNLIKE_LAP_UM = 0.1, 0.3, 2.0
"""Bows and twist may end up off by this share of what they were, by no more than that
share of what came off them, for where nothing comes off nothing changes; and by so much
that lap and hand add beside what the hypotheses say."""
SLIP = 4.0
"""A reading that is off by so many u took no part in it."""
MOST_SLIPS = 3
TELLS_NOTHING = 0.01
"""So many pairs of looks in all tell nothing of the dose, whatever they seem to: a
grain under the face, a dial that was knocked, a bump that went."""
FREE = 1e8
"""Variance of what is not known beforehand, in µm²."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DoseSeen:
    """What two looks say of the dose between them.

    ``log_likelihood`` (hypotheses, doses) is for GIVES_UM with DRAWN_UM and for
    DOSES_UM, up to a constant, and ``form_um`` (hypotheses, doses, 3) how each would
    have changed bows and twist.
    ``slips`` are the shared places whose change no dose explains, each with how many
    u it is off; positive came down too far.
    """

    log_likelihood: Array
    form_um: Array
    slips: tuple[tuple[float, float, float], ...]


def dose_seen(before: Glance, changed: Change, heat_um: float = 0.0) -> DoseSeen:
    """Weigh every dose, give and shape of the lap by how well it explains the change.

    On a lap with a shape the face wears by its heights over what it is drawn to.
    ``heat_um`` is the crown along that heat added to the look before.
    """
    face, grid = before.face, before.surface.grid
    form = form_terms(face, grid.along_mm, grid.across_mm)
    start = before.grid_um + heat_um * form[:, 0] - (DRAWN_UM / TO_FORM) @ form.T
    to_places = at_places(face, grid, changed.along_mm, changed.across_mm)
    # (hypotheses, doses, places); all surfaces at once would fill the cache.
    after = each_dose(face, start, GIVES_UM, DOSES_UM)
    wear = np.stack([(start - now) @ to_places.T for now in after], axis=1)
    # One at a time, the worst first: a slip makes places across from it look off too.
    cov = changed.cov.copy()
    slips: list[tuple[float, float, float]] = []
    likelihood, off = _weigh(face, before, changed, wear, cov)
    while len(slips) < MOST_SLIPS and np.abs(off).max() > SLIP:
        worst = int(np.abs(off).argmax())
        slips.append(
            (
                float(changed.along_mm[worst]),
                float(changed.across_mm[worst]),
                float(off[worst]),
            )
        )
        cov[worst, worst] += FREE
        likelihood, off = _weigh(face, before, changed, wear, cov)
    nothing = np.exp(likelihood).max(axis=0).mean()
    likelihood = np.logaddexp(
        np.log1p(-TELLS_NOTHING) + likelihood, np.log(TELLS_NOTHING * nothing)
    )
    return DoseSeen(
        log_likelihood=likelihood,
        form_um=-wear @ form_solve(face, changed.along_mm, changed.across_mm).T,
        slips=tuple(slips),
    )


def _weigh(
    face: Face, before: Glance, changed: Change, wear: Array, cov: Array
) -> tuple[Array, Array]:
    """Give the log likelihoods, and by how many u each place is off the best of them.

    Each place is held against what all the others say of it (leave-one-out residuals
    of a normal model: Rasmussen and Williams 2006, section 5.4.2).
    """
    along, across = changed.along_mm, changed.across_mm
    plane = plane_terms(face, along, across)
    form = form_terms(face, along, across)
    shapes = [np.outer(f, f) for f in (form / np.abs(TO_FORM)).T]
    common = cov + FREE * plane @ plane.T
    # A lap's shape comes in as the face's own goes, by dose over give.
    copied = np.minimum(DOSES_UM / _GIVES_UM[:, None], 1.0)
    # (gives, shapes drawn to, doses, places); one doubt for all shapes keeps it quick.
    parted = wear.reshape(_GIVES_UM.size, len(_DRAWN_UM), *wear.shape[1:])
    straight = parted[:, 0]
    size = np.minimum(
        UNLIKE_FORM_SHARE * np.abs(before.form_um),
        UNLIKE_CHANGE_SHARE * np.abs(straight @ form_solve(face, along, across).T),
    )
    size = np.square(size) + np.square(UNLIKE_LAP_UM * copied)[..., None]
    of_form = np.tensordot(size, shapes, 1)
    uneven = straight - straight @ (plane @ np.linalg.pinv(plane)).T
    spread = np.square(UNLIKE_SHARE * uneven) + UNLIKE_UM**2
    full = common + of_form + spread[..., None] * np.eye(along.size)
    for axis in scaled(face, along, across):
        lean = HAND_SHARE * straight * axis
        full = full + lean[..., :, None] * lean[..., None, :]
    left = changed.fell_um - parted
    inverse = np.linalg.inv(full)
    solved = np.swapaxes(np.swapaxes(left, 1, 2) @ inverse, 1, 2)
    _, log_det = np.linalg.slogdet(full)
    likelihood = -0.5 * ((left * solved).sum(axis=-1) + log_det[:, None])
    best = np.unravel_index(int(likelihood.argmax()), likelihood.shape)
    off = solved[best] / np.sqrt(np.diagonal(inverse[best[0], best[2]]))
    return (likelihood - likelihood.max()).reshape(wear.shape[:2]), off


def at_places(face: Face, grid: Grid, along_mm: Array, across_mm: Array) -> Array:
    """Give the matrix (n, m) that takes values on the metal grid to places.

    Bilinear between the metal places round each; beside a mouth or a hole those that
    are metal share the weight.
    """
    number = np.full(grid.metal.shape, -1)
    number[grid.metal] = np.arange(int(grid.metal.sum()))
    found = np.zeros((along_mm.size, int(grid.metal.sum())))
    i, s = _within(grid.along_axis_mm, along_mm)
    j, t = _within(grid.across_axis_mm, across_mm)
    rows = np.arange(along_mm.size)
    for di, dj, share in (
        (0, 0, (1 - s) * (1 - t)),
        (1, 0, s * (1 - t)),
        (0, 1, (1 - s) * t),
        (1, 1, s * t),
    ):
        at = number[i + di, j + dj]
        good = at >= 0
        found[rows[good], at[good]] += share[good]
    total = found.sum(axis=1, keepdims=True)
    lost = total[:, 0] < 1e-6
    if lost.any():
        off = np.hypot(
            along_mm[lost, None] - grid.along_mm, across_mm[lost, None] - grid.across_mm
        )
        found[np.nonzero(lost)[0], off.argmin(axis=1)] = 1.0
        total = found.sum(axis=1, keepdims=True)
    return np.asarray(found / total)


def _within(axis: Array, places: Array) -> tuple[NDArray[np.intp], Array]:
    index = np.clip(np.searchsorted(axis, places) - 1, 0, axis.size - 2)
    share = (places - axis[index]) / (axis[index + 1] - axis[index])
    return index, np.clip(share, 0.0, 1.0)
