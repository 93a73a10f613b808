"""How far surfaces are from what is allowed: one number that is 1 at the limit.

The same conditions as the verdicts: a sole is done when toe, land and heel lie within
the target together with nothing proud between them and no deep hollow, or when the
whole face lies within it; any other face when the whole of it does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import Grid, in_zone, metal_grid
from lapping.observations import plane_terms
from lapping.working import HOLLOW_SHARE, PROUD_SHARE
from lapping.zone.minimum_zone_many import minimum_zone_many

Array = NDArray[np.float64]


def excess(face: Face, height_um: Array, target_um: float) -> Array:
    """Give how many times what is allowed each surface (n, places) of the grid shows.

    1 or less is within what is allowed.
    """
    grid = metal_grid(face)
    whole = minimum_zone_many(grid.along_mm, grid.across_mm, height_um) / target_um
    if face.kind != "sole":
        return np.asarray(whole)
    return np.asarray(np.minimum(whole, _working(face, grid, height_um, target_um)))


def _working(face: Face, grid: Grid, height: Array, target: float) -> Array:
    along, across = grid.along_mm, grid.across_mm
    inside = [in_zone(zone, along, across) for zone in face.bearing_zones()]
    bears: NDArray[np.bool_] = np.any(inside, axis=0)
    ends: NDArray[np.bool_] = inside[0] | inside[-1]
    terms = plane_terms(face, along, across)
    together = minimum_zone_many(along[bears], across[bears], height[:, bears])
    most = together / target
    over = _levelled(terms, height, ends)
    proud = over[:, ~ends].max(axis=1) - over[:, ends].max(axis=1)
    # Beyond the target in proportion, so that the number falls as the belly does.
    most = np.maximum(most, (proud / target + 1) / (PROUD_SHARE + 1))
    if not bears.all():
        flat = _levelled(terms, height, bears)
        deep = flat[:, bears].max(axis=1) - flat[:, ~bears].min(axis=1)
        most = np.maximum(most, deep / ((1 + HOLLOW_SHARE) * target))
    return np.asarray(most)


def _levelled(terms: Array, height: Array, places: NDArray[np.bool_]) -> Array:
    """Take the least squares plane of some places off every surface."""
    fit = np.linalg.lstsq(terms[places], height[:, places].T, rcond=None)[0]
    return np.asarray(height - (terms @ fit).T)
