"""What the face truly is, from all its cells, by the words of the documents."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog
from scipy.spatial import ConvexHull, QhullError

from lapping.face import Face
from tests.campaign.body import Body
from tests.campaign.contact import Array, Cells

PROUD_SHARE = 0.25
HOLLOW_SHARE = 2.0
"""The shares of the target that the working verdict allows, as documented."""
RING_MM = (12.0, 28.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """The true figures of a face, evenly warm and unloaded, in µm.

    ``whole_um`` and ``together_um`` are the minimum zones of all of it and of toe,
    mouth land and heel; ``works`` is the working condition at ``target_um``.
    """

    whole_um: float
    together_um: float
    proud_um: float
    hollow_um: float
    works: bool
    along_bow_um: float
    across_bow_um: float
    twist_um: float
    lean_um: float
    head_um: float
    bump_um: float

    def plain(self) -> dict[str, float | bool]:
        """Give it for a line of JSON."""
        return {
            k: v if isinstance(v, bool) else round(float(v), 2)
            for k, v in asdict(self).items()
        }


def zone_um(along_mm: Array, across_mm: Array, height_um: Array) -> float:
    """Give the minimum zone by a linear program on the corners of the convex hull."""
    terms = np.stack([along_mm, across_mm, np.ones_like(along_mm)], axis=1)
    level = height_um - terms @ np.linalg.lstsq(terms, height_um, rcond=None)[0]
    size = float(np.abs(level).max())
    if size < 1e-9:
        return 0.0
    scaled = np.stack(
        [
            (along_mm - along_mm.mean()) / max(float(np.ptp(along_mm)), 1e-9),
            (across_mm - across_mm.mean()) / max(float(np.ptp(across_mm)), 1e-9),
            level / size,
        ],
        axis=1,
    )
    try:
        corners = scaled[ConvexHull(scaled).vertices]
    except QhullError:
        corners = scaled
    a = np.column_stack([np.ones(len(corners)), corners[:, :2]])
    one = np.ones((len(corners), 1))
    answer = linprog(
        [0, 0, 0, 1],
        A_ub=np.vstack([np.hstack([-a, -one]), np.hstack([a, -one])]),
        b_ub=np.concatenate([-corners[:, 2], corners[:, 2]]),
        bounds=[(None, None)] * 3 + [(0, None)],
        method="highs",
    )
    assert answer.status == 0
    return float(2 * answer.fun * size)


def truth(body: Body, target_um: float) -> Truth:
    """Work out every figure of a face."""
    cells, face, height = body.cells, body.face, body.height_um
    bears, ends = _inside(face, cells)
    together = zone_um(cells.along_mm[bears], cells.across_mm[bears], height[bears])
    over = _level(body, height, ends)
    proud = float(over[~ends].max() - over[ends].max())
    flat = _level(body, height, bears)
    hollow = float(flat[bears].max() - flat[~bears].min()) if not bears.all() else 0.0
    terms = _terms(body)
    shape = np.linalg.lstsq(terms, height, rcond=None)[0]
    gone = np.linalg.lstsq(terms[:, :3], body.removed_um, rcond=None)[0]
    whole = zone_um(cells.along_mm, cells.across_mm, height)
    # Of a sole the zones that matter may do; of any face the whole of it does.
    zones_do = (
        face.kind == "sole"
        and together <= target_um
        and proud <= PROUD_SHARE * target_um
        and hollow <= (1 + HOLLOW_SHARE) * target_um
    )
    return Truth(
        whole_um=whole,
        together_um=together,
        proud_um=proud,
        hollow_um=hollow,
        works=whole <= target_um or zones_do,
        along_bow_um=-float(shape[3]),
        across_bow_um=-float(shape[4]),
        twist_um=4 * float(shape[5]),
        lean_um=2 * float(gone[2]),
        head_um=max([body.proud_um(head) for head in body.heads], default=0.0),
        bump_um=float(over_the_ring_um(body).max()),
    )


def _level(body: Body, height: Array, places: NDArray[np.bool_]) -> Array:
    """Take the least squares plane of some cells off all of them."""
    terms = np.stack(
        [body.cells.along_mm, body.cells.across_mm, np.ones_like(height)], axis=1
    )
    plane = np.linalg.lstsq(terms[places], height[places], rcond=None)[0]
    return np.asarray(height - terms @ plane)


def over_the_ring_um(body: Body) -> Array:
    """Give how far each cell stands above the ring around it, bows and twist apart."""
    terms = _terms(body)
    rest = (
        body.height_um - terms @ np.linalg.lstsq(terms, body.height_um, rcond=None)[0]
    )
    return np.asarray(rest - _rings(body.cells) @ rest)


@lru_cache(maxsize=4)
def _rings(cells: Cells) -> Array:
    """Give the matrix that takes heights to the mean of the ring around each cell."""
    apart = np.hypot(
        cells.along_mm[:, None] - cells.along_mm[None, :],
        cells.across_mm[:, None] - cells.across_mm[None, :],
    )
    ring = (apart > RING_MM[0]) & (apart <= RING_MM[1])
    return np.asarray(ring / np.maximum(ring.sum(axis=1, keepdims=True), 1))


@lru_cache(maxsize=4)
def _inside(face: Face, cells: Cells) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Say which cells lie in the zones that must bear, and which in toe and heel."""
    zones = [
        np.array(
            [
                zone.holds(x, y)
                for x, y in zip(cells.along_mm, cells.across_mm, strict=True)
            ]
        )
        for zone in face.bearing_zones()
    ]
    return np.any(zones, axis=0), np.asarray(zones[0] | zones[-1])


def _terms(body: Body) -> Array:
    a = 2 * body.cells.along_mm / body.face.length_mm - 1
    c = 2 * body.cells.across_mm / body.face.width_mm - 1
    return np.stack([np.ones_like(a), a, c, a**2, c**2, a * c], axis=1)
