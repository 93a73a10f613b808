"""Several sets of readings of one face, brought into one set of equations."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.heights import Heights
from lapping.methods.taken import Taken
from lapping.observations import Observations, form_terms, plane_terms

Array = NDArray[np.float64]
OPEN = 1e-9
"""Variances under this share of the largest are rounding."""


def combine(face: Face, sets: Sequence[Taken]) -> Taken:
    """Join sets that each have a datum of their own; the first one's is kept.

    The surface ties them where they share no spot, and its doubt says how well.
    """
    if len(sets) == 1:
        return sets[0]
    parts = [taken.observations for taken in sets]
    places: dict[tuple[float, float], int] = {}
    for obs in parts:
        for place in _places(obs):
            places.setdefault(place, len(places))
    along, across = np.array(list(places)).T
    weights = []
    for obs in parts:
        laid = np.zeros((obs.value_um.size, len(places)))
        laid[:, [places[place] for place in _places(obs)]] = obs.weights
        weights.append(laid)
    plane, form = (terms(face, along, across) for terms in (plane_terms, form_terms))
    seats = [w @ plane for w in weights[1:]]
    plates, plate_u, common_u = _plates(
        parts, [w @ form for w in weights], [w @ plane for w in weights]
    )
    shared, shared_u = _shared(parts)
    joined = Observations(
        along_mm=along,
        across_mm=across,
        weights=np.concatenate(weights),
        value_um=np.concatenate([o.value_um for o in parts]),
        u_um=np.concatenate([o.u_um for o in parts]),
        low_um=np.concatenate([o.low_um for o in parts]),
        high_um=np.concatenate([o.high_um for o in parts]),
        unknowns=np.column_stack(
            [
                _blocks(
                    [o.unknowns[:, : o.unknown_u.size - o.shared] for o in parts],
                    [np.zeros((len(weights[0]), 0)), *seats],
                ),
                plates,
                shared,
            ]
        ),
        unknown_u=np.concatenate(
            [o.unknown_u[: o.unknown_u.size - o.shared] for o in parts]
            + [np.full(3, np.inf) for _ in seats]
            + [plate_u, shared_u]
        ),
        shared=shared_u.size,
        noise_doubt=max(o.noise_doubt for o in parts),
        reference_u_um=common_u,
    )
    return Taken(
        observations=joined,
        heights=_heights(face, sets),
        repeatability_um=min(t.repeatability_um for t in sets),
        warnings=tuple(dict.fromkeys(w for t in sets for w in t.warnings)),
    )


def _plates(
    parts: Sequence[Observations], forms: Sequence[Array], planes: Sequence[Array]
) -> tuple[Array, Array, Array]:
    """Give how the plates differ as unknowns, how far, and the doubt of their mean.

    How two plates or edges differ shows where their sets overlap and is solved for;
    what they have in common looks like the face and stays in its doubt (3,). A set
    that does not see a shape says nothing of it, and one that sees it without a plate
    tells it from all plates. Sets that share a plate share its form.
    """
    names = [o.shared_by or str(i) for i, o in enumerate(parts)]
    groups = list(dict.fromkeys(names))
    on = np.array([[name == group for name in names] for group in groups])
    own = np.array([[o.reference_u_um for o in parts]]) * on[:, :, None]
    sees = np.array([_sees(*each) for each in zip(parts, forms, planes, strict=True)])
    seen = (on[:, :, None] & sees).any(axis=1)
    # What no set sees alone all may see together.
    seen |= ~seen.any(axis=0)
    laid = [
        np.concatenate([f * here for f, here in zip(forms, row, strict=True)])
        for row in on
    ]
    columns = [np.zeros((len(laid[0]), 0))]
    u: list[float] = []
    common = np.zeros(3)
    for shape in range(3):
        who = np.nonzero(seen[:, shape])[0]
        variance = own.max(axis=1)[who, shape] ** 2
        if (variance > 0).all():
            common[shape] = np.sum(1 / variance) ** -0.5
        size, mix = np.linalg.eigh(np.diag(variance) - common[shape] ** 2)
        blocks = np.stack([laid[k][:, shape] for k in who], axis=1)
        tells = size > OPEN * variance.max(initial=0.0)
        columns.append(blocks @ mix[:, tells])
        u += np.sqrt(size[tells]).tolist()
    return np.column_stack(columns), np.array(u), common


def _sees(obs: Observations, form: Array, plane: Array) -> NDArray[np.bool_]:
    """Say which bows and twist a set sees beside planes and its free unknowns (3,)."""
    free = np.column_stack([plane, obs.unknowns[:, np.isinf(obs.unknown_u)]])
    left = form - free @ np.linalg.lstsq(free, form, rcond=None)[0]
    size = np.linalg.norm(form, axis=0)
    return np.asarray(np.linalg.norm(left, axis=0) > 1e-6 * np.maximum(size, 1e-6))


def _shared(parts: Sequence[Observations]) -> tuple[Array, Array]:
    """Lay what sets share with each other in the same columns of all their rows."""
    columns = [np.zeros((sum(o.value_um.size for o in parts), 0))]
    u = [np.zeros(0)]
    for name in dict.fromkeys(o.shared_by for o in parts if o.shared):
        of = [o.shared if o.shared_by == name else 0 for o in parts]
        columns.append(
            np.concatenate(
                [
                    o.unknowns[:, o.unknown_u.size - k :]
                    if k
                    else np.zeros((o.value_um.size, max(of)))
                    for o, k in zip(parts, of, strict=True)
                ]
            )
        )
        first = parts[int(np.argmax(of))]
        u.append(first.unknown_u[first.unknown_u.size - max(of) :])
    return np.column_stack(columns), np.concatenate(u)


def _places(of: Observations | Heights) -> list[tuple[float, float]]:
    return list(zip(of.along_mm.tolist(), of.across_mm.tolist(), strict=True))


def _blocks(*groups: list[Array]) -> Array:
    """Lay the unknowns of each set, group by group, in columns of its own rows."""
    columns = []
    for group in groups:
        for i, block in enumerate(group):
            above = sum(len(b) for b in group[:i])
            below = sum(len(b) for b in group[i + 1 :])
            columns.append(np.pad(block, ((above, below), (0, 0))))
    return np.concatenate(columns, axis=1)


def _heights(face: Face, sets: Sequence[Taken]) -> Heights | None:
    """Average the sets place by place, each moved onto the first one's datum.

    None where a set of lines has no heights of its own.
    """
    parts = [taken.heights for taken in sets if taken.heights is not None]
    if len(parts) < len(sets):
        return None
    # Many readings are averaged over cells for the equations, not for the heights.
    places: dict[tuple[float, float], int] = {}
    spots = [places.setdefault(p, len(places)) for h in parts for p in _places(h)]
    spot = np.array(spots)
    value = np.concatenate([h.height_um for h in parts])
    weight = np.concatenate([h.u_um for h in parts]) ** -2.0
    owner = np.repeat(np.arange(len(parts)), [len(h) for h in parts])
    along, across = np.array(list(places)).T
    plane = plane_terms(face, along, across)[spot]
    seats = np.concatenate(
        [np.where((owner == i)[:, None], plane, 0.0) for i in range(1, len(parts))],
        axis=1,
    )
    shared = np.eye(len(places))[spot]
    tied = np.concatenate([shared, seats], axis=1)
    if np.linalg.matrix_rank(tied) < tied.shape[1]:
        # Too few spots in common: the common second-degree form ties the sets instead.
        form = np.concatenate([plane, form_terms(face, along, across)[spot]], axis=1)
        tied = np.concatenate([form, seats], axis=1)
    root = np.sqrt(weight)
    fit = np.linalg.lstsq(tied * root[:, None], value * root, rcond=None)[0]
    moved = value - seats @ fit[-seats.shape[1] :]
    total = np.bincount(spot, weight)
    return Heights(
        along_mm=along,
        across_mm=across,
        height_um=np.bincount(spot, weight * moved) / total,
        u_um=1 / np.sqrt(total),
    )
