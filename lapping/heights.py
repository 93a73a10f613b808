"""Heights at places: scattered columns, read-only, in millimetres and micrometres."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

Column = NDArray[np.float64]


def column(values: ArrayLike) -> Column:
    """Copy to a read-only float64 array, refusing NaN and infinity."""
    array = np.array(values, dtype=np.float64)
    if not np.isfinite(array).all():
        message = "every value must be a finite number (got NaN or infinity)"
        raise ValueError(message)
    array.setflags(write=False)
    return array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Heights:
    """Heights of n distinct places, positive when proud, with standard uncertainties.

    All columns have shape (n,); ``u_um`` holds the gauge's part only.
    """

    along_mm: Column
    across_mm: Column
    height_um: Column
    u_um: Column

    def __post_init__(self) -> None:
        """Copy the columns and check that they agree in length."""
        for field in fields(self):
            object.__setattr__(self, field.name, column(getattr(self, field.name)))
        sizes = {getattr(self, field.name).shape for field in fields(self)}
        if len(sizes) != 1 or self.along_mm.ndim != 1:
            message = f"'Heights' needs columns of one length (got {sorted(sizes)})"
            raise ValueError(message)

    def __len__(self) -> int:
        """Give the number of places."""
        return int(self.along_mm.size)
