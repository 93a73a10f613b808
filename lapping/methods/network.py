"""Lines solved together: the least squares network and the shapes it cannot see.

Heights of all stations and the free unknowns of every line, seating and instrument are
solved in one adjustment (Meijer and de Bruin, Precision Engineering 3, 1981, for plates
from lines). What the readings leave open is read off the null space.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.heights import Heights
from lapping.observations import Observations, plane_terms

Array = NDArray[np.float64]

DISAGREE = 3.0
"""Readings that miss each other by more than this many u have a slip among them."""
OPEN = 1e-9
"""Singular values under this share of the largest are of shapes not seen."""
UNSEEN = 1e-6
"""A shape that is less than this beside its plane is no shape."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Network:
    """The adjustment of p stations; heights are level (least squares plane taken out).

    ``unseen`` (p, q) spans the shapes at the stations that no reading changes with,
    the plane apart; with any, ``height_um`` holds none of them. ``root`` (p, r) gives
    the covariance of the heights as root @ root.T. ``used`` (n,) are the readings that
    bound a height on both sides, ``spare`` how many there are beyond what is needed,
    ``places`` the numbers of the stations they reach and ``residual_um`` what they are
    less the adjusted reading.
    """

    heights: Heights
    unseen: Array
    root: Array
    used: NDArray[np.intp]
    places: NDArray[np.intp]
    spare: int
    residual_um: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """How far the lines through one station disagree there after the adjustment."""

    along_mm: float
    across_mm: float
    spread_um: float
    u_um: float


def adjust(face: Face, obs: Observations) -> Network:
    """Solve all lines together, every reading weighted by its uncertainty.

    Where no reading bounds a height on both sides there are no stations at all.
    """
    used = np.nonzero(np.isfinite(obs.low_um) & np.isfinite(obs.high_um))[0]
    value, u = obs.value_um[used], _value_u(obs)[used]
    places = np.nonzero(_reads(obs)[used].any(axis=0))[0]
    along, across = obs.along_mm[places], obs.across_mm[places]
    known = np.isfinite(obs.unknown_u) & (obs.unknown_u > 0)
    free = np.isinf(obs.unknown_u)
    p = places.size
    design = np.concatenate(
        [
            obs.weights[np.ix_(used, places)],
            obs.unknowns[used][:, free],
            obs.unknowns[used][:, known],
        ],
        axis=1,
    )
    left, size, right = np.linalg.svd(
        _stacked(design / u[:, None], obs.unknown_u[known]), full_matrices=True
    )
    rank = int(np.sum(size > OPEN * size.max(initial=0.0)))
    solve = (right[:rank].T / size[:rank]) @ left[:, :rank].T
    answer = solve[:, : value.size] @ (value / u)
    level, unseen = seen_part(plane_terms(face, along, across), right[rank:, :p].T)
    root = level @ (right[:rank, :p].T / size[:rank])
    return Network(
        heights=Heights(
            along_mm=along,
            across_mm=across,
            height_um=level @ answer[:p],
            u_um=np.maximum(np.sqrt((root**2).sum(axis=1)), 1e-9),
        ),
        unseen=unseen,
        root=root,
        used=used,
        places=places,
        spare=used.size - rank + int(known.sum()),
        residual_um=value - design @ answer,
    )


def seen_part(plane: Array, null: Array) -> tuple[Array, Array]:
    """Give the projector (p, p) onto what is seen of heights, and the unseen (p, q).

    ``plane`` (p, 3) and ``null`` (p, any) span what changes no reading. No reading
    tells an unseen shape, so what a pseudo-inverse puts there goes with the plane.
    """
    level = np.eye(len(plane)) - plane @ np.linalg.pinv(plane)
    shapes, extent, _ = np.linalg.svd(level @ null, full_matrices=False)
    unseen = shapes[:, extent > UNSEEN]
    return level - unseen @ (unseen.T @ level), unseen


def closures(obs: Observations, network: Network) -> tuple[Closure, ...]:
    """Give for each station read on more than one line how far the lines disagree.

    The largest first. ``u_um`` is what the readings' uncertainty alone would make it.
    """
    u = _value_u(obs)[network.used]
    found = []
    for place in network.places:
        here = np.nonzero(_reads(obs)[network.used, place])[0]
        if here.size > 1:
            # A slope's reading is of its first place with the other sign.
            share = obs.weights[network.used[here], place]
            off = network.residual_um[here] / share
            found.append(
                Closure(
                    along_mm=float(obs.along_mm[place]),
                    across_mm=float(obs.across_mm[place]),
                    spread_um=float(np.ptp(off)),
                    u_um=float(np.hypot.reduce(u[here] / share)),
                )
            )
    return tuple(sorted(found, key=lambda c: -c.spread_um))


def _reads(obs: Observations) -> NDArray[np.bool_]:
    """Say which places a reading is of (n, p); small weights only mend its place."""
    return np.asarray(np.abs(obs.weights) > 0.5)


def _value_u(obs: Observations) -> Array:
    """Give each reading's uncertainty, an interval's as that of its middle."""
    closed = obs.is_interval & np.isfinite(obs.low_um) & np.isfinite(obs.high_um)
    half = np.zeros(obs.value_um.size)
    half[closed] = (obs.high_um[closed] - obs.low_um[closed]) / 2
    return np.hypot(obs.u_um, half / 3**0.5)


def _stacked(rows: Array, known_u: Array) -> Array:
    """Add a row for each unknown of known size: it is near 0 within its uncertainty."""
    held = np.zeros((known_u.size, rows.shape[1]))
    held[:, rows.shape[1] - known_u.size :] = np.diag(1 / known_u)
    return np.concatenate([rows, held])
