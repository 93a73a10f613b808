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

from lapping.dose import worn_down
from lapping.face import Face
from lapping.glance import TO_FORM, Change, Glance, form_solve
from lapping.grid import Grid
from lapping.observations import form_terms, plane_terms

Array = NDArray[np.float64]

DOSES_UM = np.geomspace(0.1, 400.0, 25)
GIVES_UM = np.geomspace(1.0, 64.0, 7)
"""Mean depth by which a face presses into its paper, in µm. No figure was found: from
what the smooth backing of a sheet gives under a hand to the height of coarse grains."""
UNLIKE_SHARE, UNLIKE_UM = 0.2, 0.3
"""How uneven the wear is may differ from the model's by so much at each place."""
UNLIKE_FORM_SHARE, UNLIKE_LAP_UM = 0.15, 2.0
"""Bows and twist may end up off by this share of what they were, and by so much of the
lap's own: hands rock and laps are not flat."""
SLIP = 4.0
"""A reading that is off by so many u took no part in it."""
MOST_SLIPS = 3
FREE = 1e8
"""Variance of what is not known beforehand, in µm²."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DoseSeen:
    """What two looks say of the dose between them.

    ``log_likelihood`` (gives, doses) is for GIVES_UM and DOSES_UM, up to a constant,
    and ``form_um`` (gives, doses, 3) how each would have changed bows and twist.
    ``slips`` are the shared places whose change no dose explains, each with how many
    u it is off; positive came down too far.
    """

    log_likelihood: Array
    form_um: Array
    slips: tuple[tuple[float, float, float], ...]


def dose_seen(before: Glance, changed: Change) -> DoseSeen:
    """Weigh every dose and give by how well it explains what came off."""
    face = before.surface.face
    start = np.tile(before.grid_um, (GIVES_UM.size, 1))
    after = worn_down(face, start, GIVES_UM, DOSES_UM)
    to_places = at_places(
        face, before.surface.grid, changed.along_mm, changed.across_mm
    )
    # (gives, doses, places)
    wear = ((start - after) @ to_places.T).swapaxes(0, 1)
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
    size = np.square(UNLIKE_FORM_SHARE * before.form_um)
    common = cov + FREE * plane @ plane.T + np.tensordot(size, shapes, 1)
    # A lap's shape comes in as the face's own goes, by dose over give.
    copied = np.minimum(DOSES_UM / GIVES_UM[:, None], 1.0)
    of_lap = np.square(UNLIKE_LAP_UM * copied)[..., None, None] * sum(shapes)
    uneven = wear - wear @ (plane @ np.linalg.pinv(plane)).T
    spread = np.square(UNLIKE_SHARE * uneven) + UNLIKE_UM**2
    full = common + of_lap + spread[..., None] * np.eye(along.size)
    left = changed.fell_um - wear
    inverse = np.linalg.inv(full)
    solved = (inverse @ left[..., None])[..., 0]
    _, log_det = np.linalg.slogdet(full)
    likelihood = -0.5 * ((left * solved).sum(axis=-1) + log_det)
    best = np.unravel_index(int(likelihood.argmax()), likelihood.shape)
    off = solved[best] / np.sqrt(np.diagonal(inverse[best]))
    return likelihood - likelihood.max(), off


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
