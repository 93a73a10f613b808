"""Readings as equations in heights: the one measurement model.

Every reading says: a weighted sum of heights at places, plus unknowns that belong to
the seating or the reference, plus noise, equals a value or lies in an interval.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.heights import Column, column


def _matrix(values: NDArray[np.float64]) -> NDArray[np.float64]:
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Observations:
    """n readings of heights at p places, with k unknowns that are not heights.

    ``weights`` (n, p) and ``unknowns`` (n, k) are the coefficients; ``unknown_u``
    (k,) is the standard uncertainty of each unknown beforehand, infinite for a free
    one. A reading with ``low_um`` < ``high_um`` is an interval, ``value_um`` then
    being only where to start; ``u_um`` is its noise, or for an interval the standard
    uncertainty of its two ends. Infinite ends mean no bound.

    ``reference_u_um`` (3,) is how well the bows and twist of the plate or edge that all
    was read on are known, see `plate_u_um`. They are no unknowns to be solved for:
    nothing in the readings tells the plate from the face. The last ``shared`` of the
    unknowns are shapes of the one plate or edge that all sets of readings of the same
    name ``shared_by`` were read on.
    """

    along_mm: Column
    across_mm: Column
    weights: NDArray[np.float64]
    value_um: Column
    u_um: Column
    low_um: NDArray[np.float64]
    high_um: NDArray[np.float64]
    unknowns: NDArray[np.float64]
    unknown_u: NDArray[np.float64]
    noise_doubt: float
    shared: int = 0
    shared_by: str = ""
    reference_u_um: NDArray[np.float64] = field(default_factory=lambda: np.zeros(3))

    def __post_init__(self) -> None:
        """Copy the arrays and check that they agree in shape."""
        for name in ("along_mm", "across_mm", "value_um", "u_um"):
            object.__setattr__(self, name, column(getattr(self, name)))
        for name in (
            "weights",
            "low_um",
            "high_um",
            "unknowns",
            "unknown_u",
            "reference_u_um",
        ):
            object.__setattr__(self, name, _matrix(getattr(self, name)))
        n, p, k = self.value_um.size, self.along_mm.size, self.unknown_u.size
        if self.weights.shape != (n, p) or self.unknowns.shape != (n, k):
            message = (
                f"'weights' must be ({n}, {p}) and 'unknowns' ({n}, {k}) "
                f"(got {self.weights.shape} and {self.unknowns.shape})"
            )
            raise ValueError(message)

    @property
    def is_interval(self) -> NDArray[np.bool_]:
        """Say for each reading whether it bounds the height instead of giving it."""
        return np.asarray(self.low_um < self.high_um)


def scaled(
    face: Face, along_mm: NDArray[np.float64], across_mm: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Scale places to -1..+1 over the face, where the six-term fit is well behaved."""
    return 2 * along_mm / face.length_mm - 1, 2 * across_mm / face.width_mm - 1


def plane_terms(
    face: Face, along_mm: NDArray[np.float64], across_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give the columns of a plane: offset and two tilts, shape (n, 3)."""
    a, c = scaled(face, along_mm, across_mm)
    return np.stack([np.ones_like(a), a, c], axis=1)


def form_terms(
    face: Face, along_mm: NDArray[np.float64], across_mm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Give the columns of the form: along-bow, across-bow and twist, shape (n, 3)."""
    a, c = scaled(face, along_mm, across_mm)
    return np.stack([a * a, c * c, a * c], axis=1)


def plate_u_um(flatness_um: float | None) -> NDArray[np.float64]:
    """Give the standard uncertainty of each form coefficient of a plate, shape (3,).

    A plate of stated flatness may add two bows and a twist. Each is given a quarter of
    the stated flatness, so that all three together stay within it about 95 times in a
    hundred; a convention of this program.
    """
    return np.full(3, (flatness_um or 0.0) / 4)
