"""The form of a face: along-bow, across-bow and twist, each with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.observations import Observations, form_terms, plane_terms
from lapping.surface.posterior import Surface

Array = NDArray[np.float64]

ARCMIN_PER_RADIAN = 3437.7468
SEEN = 1e-6
"""A shape whose part of the readings is smaller than this share is not seen."""
NAMES = ("along-bow", "across-bow", "twist")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bow:
    """A bow as sagitta over the full length or width; crown is positive."""

    um: float
    u_um: float

    @property
    def shape(self) -> Literal["crown", "hollow", "straight"]:
        """Give the word: straight if below twice its uncertainty."""
        if abs(self.um) < 2 * self.u_um:
            return "straight"
        return "crown" if self.um > 0 else "hollow"


@dataclass(frozen=True, slots=True, kw_only=True)
class Twist:
    """How far the fourth corner stands from the plane through the other three.

    Positive when the toe-left and heel-right corners are the high ones.
    """

    um: float
    u_um: float
    arcmin: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """The second-degree least squares form of the face; None where it is not seen."""

    along_bow: Bow | None
    across_bow: Bow | None
    twist: Twist | None


def unseen_shapes(face: Face, obs: Observations) -> tuple[str, ...]:
    """Name the bows and twist that the readings cannot see, whatever their values.

    From the null space of what the readings see of plane, form and free unknowns: a
    shape is unseen if some mixture with it changes no reading.
    """
    return shapes_not_in(seen_columns(face, obs))


def seen_columns(face: Face, obs: Observations) -> Array:
    """Give what the readings see of form, plane and free unknowns, form first.

    A bound on one side counts for nothing: it lets a shape grow without end on the
    other.
    """
    tells = np.isfinite(obs.low_um) & np.isfinite(obs.high_um)
    form = obs.weights @ form_terms(face, obs.along_mm, obs.across_mm)
    plane = obs.weights @ plane_terms(face, obs.along_mm, obs.across_mm)
    free = obs.unknowns[:, np.isinf(obs.unknown_u)]
    return np.column_stack([form, plane, free])[tells]


def shapes_not_in(columns: Array) -> tuple[str, ...]:
    """Name the shapes of the first three columns that lie in the null space."""
    _, size, rows = np.linalg.svd(columns, full_matrices=True)
    rank = int(np.sum(size > SEEN * size.max(initial=0.0)))
    null = rows[rank:, :3]
    return tuple(
        name for i, name in enumerate(NAMES) if np.abs(null[:, i]).max(initial=0) > SEEN
    )


def form_of(surface: Surface, unseen: tuple[str, ...] = ()) -> Form:
    """Fit the second-degree form to the surface and to each of its draws."""
    face, p = surface.face, surface.places
    along, across = surface.along_mm[p:], surface.across_mm[p:]
    columns = np.column_stack(
        [form_terms(face, along, across), plane_terms(face, along, across)]
    )
    solve = np.linalg.pinv(columns)[:3]
    mean = solve @ surface.mean_um[p:]
    u = (surface.draws_um[:, p:] @ solve.T).std(axis=0)
    bows = [
        None if name in unseen else Bow(um=-float(mean[i]), u_um=float(u[i]))
        for i, name in enumerate(NAMES[:2])
    ]
    twist = None
    if "twist" not in unseen:
        # The coefficient on coordinates from -1 to +1: corners at ±1 differ by four.
        um = 4 * float(mean[2])
        twist = Twist(
            um=um,
            u_um=4 * float(u[2]),
            arcmin=ARCMIN_PER_RADIAN * um * 1e-3 / face.width_mm,
        )
    return Form(along_bow=bows[0], across_bow=bows[1], twist=twist)
