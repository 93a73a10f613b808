"""Where the ink and the gauge cannot both be right, place by place.

Ink goes where the face meets the paper, so what is rubbed must lie near the plane that
the face rests on, and what stands well over the places that were rubbed must be rubbed
too. The hand tips the face while it pushes: a place is held against the plane that
suits it best, of all those the face rests on as the load moves about its middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import BEARS, ContactMap
from lapping.cross_check.fit import LEAST_METAL, grid_to_cells
from lapping.cross_check.zones import named_zones, share_in
from lapping.face import Face
from lapping.observations import plane_terms
from lapping.resting import HAND_SHARE, support_under
from lapping.surface.posterior import Surface

Array = NDArray[np.float64]
Kind = Literal["rubbed but low", "proud but not rubbed"]

GIVE_UM = 40.0
"""The paper, what it lies on and the ink may give so much where the hand bears: some
tens of micrometres. Ours; no source."""
STANDS_UM = 20.0
"""A place this far over all that was rubbed is pressed wherever the hand is; ours."""
LEAST_PART = 0.25
"""A place bears where at least this share of it does."""
CLEAN_OF_WEAR = 0.1
"""Where less than this share is gone, the ink shows no contact at all."""
PASSES, STAYS = 0.25, HAND_SHARE / 2
"""How far from the middle, as a share of length and width, the load may pass in a
stroke, and how far off it may stay all the while, as `resting` has it. To be rubbed a
place need bear only once; one that is never rubbed never bore."""
HALF = 0.5
EXCUSED: dict[Kind, tuple[float, float]] = {
    "rubbed but low": (-1.0, GIVE_UM),
    "proud but not rubbed": (1.0, STANDS_UM),
}
"""Which way a height is wrong, and how much of it is no conflict."""
DRAWS = 100
SURE = 2.0
TOLD = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """One place where ink and gauge disagree.

    ``rubbed`` is the share of its ink that is gone. ``height_um`` ± ``u_um`` (standard)
    is where the gauge puts it: on average from the plane the face rests on where it was
    rubbed (negative: below), at its highest from the plane on what was rubbed where it
    was not (above).
    """

    where: str
    kind: Kind
    rubbed: float
    height_um: float
    u_um: float

    @property
    def beyond_um(self) -> float:
        """Give by how much the height is past what paper and doubt excuse."""
        sign, excused = EXCUSED[self.kind]
        return sign * self.height_um - SURE * self.u_um - excused


def conflicts(
    surface: Surface, contact: ContactMap, swapped: tuple[bool, bool] = (False, False)
) -> tuple[Conflict, ...]:
    """Give the places where ink and gauge disagree beyond doubt, worst first.

    At most TOLD of them; what lies mostly in places already named is not named again.
    ``swapped`` says whether the readings are to be taken end for end and side for side.
    """
    heights = _heights_at_cells(surface, contact, swapped)
    told = np.isfinite(contact.rubbed) & (contact.metal >= LEAST_METAL)
    known = np.where(told, (1 - contact.unknown) * contact.metal, 0.0)
    found: list[Conflict] = []
    taken = np.zeros(contact.rubbed.shape)
    for where, zone in named_zones(contact.face):
        share = share_in(zone, contact)
        area, seen = (share * contact.metal).sum(), share * known
        again = (np.minimum(taken, share) * contact.metal).sum()
        if not seen.any() or seen.sum() < HALF * area or again > HALF * area:
            continue
        one = _conflict(heights, where, seen, contact.rubbed)
        if one is not None:
            found.append(one)
            taken = np.maximum(taken, share)
    return tuple(sorted(found, key=lambda c: -c.beyond_um)[:TOLD])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Heights:
    """Heights at the n cells with metal, the likeliest (n,) and draws (d, n).

    ``metal`` (rows, columns) says which cells those are.
    """

    face: Face
    metal: NDArray[np.bool_]
    along_mm: Array
    across_mm: Array
    mean_um: Array
    draws_um: Array

    def over(self, height_um: Array, holds: NDArray[np.bool_], reach: float) -> Array:
        """Give heights over each plane the face can rest on, (planes, n).

        Only the cells that ``holds`` marks hold it up; a load within ``reach`` under
        which it would tip off them has no plane.
        """
        found: list[Array] = []
        if holds.sum() < 3:
            return np.empty((0, height_um.size))
        terms = plane_terms(self.face, self.along_mm, self.across_mm)
        solve = np.linalg.pinv(terms[holds])
        places = self.along_mm[holds], self.across_mm[holds], height_um[holds]
        for a, c in ((0, 0), (-1, -1), (-1, 1), (1, -1), (1, 1)):
            load = (
                self.face.length_mm * (0.5 + reach * a),
                self.face.width_mm * (0.5 + reach * c),
            )
            support = support_under(*places, load)
            if support is not None:
                plane = terms @ (solve @ (places[2] + support.gap_um))
                found.append(height_um - plane)
        return np.array(found).reshape(-1, height_um.size)


def _heights_at_cells(
    surface: Surface, contact: ContactMap, swapped: tuple[bool, bool]
) -> _Heights:
    face, p = contact.face, surface.places
    rows, columns = contact.rubbed.shape
    metal = contact.metal >= LEAST_METAL
    i, j = np.nonzero(metal)
    along = (i + 0.5) * face.length_mm / rows
    across = (j + 0.5) * face.width_mm / columns
    to_cells = grid_to_cells(
        contact,
        surface.grid,
        face.length_mm - along if swapped[0] else along,
        face.width_mm - across if swapped[1] else across,
    )
    # The draws lie in order of what they assume, so they are taken evenly.
    step = max(1, len(surface.draws_um) // DRAWS)
    return _Heights(
        face=face,
        metal=metal,
        along_mm=along,
        across_mm=across,
        mean_um=to_cells @ surface.mean_um[p:],
        draws_um=surface.draws_um[::step, p:] @ to_cells.T,
    )


def _conflict(
    heights: _Heights, where: str, seen: Array, rubbed: Array
) -> Conflict | None:
    """Hold one place, cells weighed by ``seen``, against the plane it suits best."""
    gone = np.nan_to_num(rubbed)
    mean = float((seen * gone).sum() / seen.sum())
    clean = (rubbed <= CLEAN_OF_WEAR)[heights.metal]
    bears = np.where(gone >= BEARS, seen, 0.0)
    if bears.sum() >= LEAST_PART * seen.sum():
        kind: Kind = "rubbed but low"
        # All metal may hold the face; what has to be near the plane is what was rubbed.
        here = (bears * gone)[heights.metal]
        holds, reach = np.ones(clean.size, np.bool_), PASSES
        picked = here[None, :] / here.sum()
    elif mean <= CLEAN_OF_WEAR:
        kind = "proud but not rubbed"
        here = seen[heights.metal]
        holds, reach = ~clean, STAYS
        picked = np.eye(clean.size)[clean & (here > 0)]
    else:
        return None
    sign, excused = EXCUSED[kind]
    if not len(heights.over(heights.mean_um, holds, reach)):
        # What was rubbed cannot carry the hand, so something else must have as well.
        holds = here == 0

    def wrong_by(height_um: Array) -> Array:
        over = heights.over(height_um, holds, reach)
        return np.asarray((sign * over @ picked.T).min(axis=0, initial=np.inf))

    likeliest = wrong_by(heights.mean_um)
    if not np.isfinite(likeliest).all() or likeliest.max(initial=0.0) < excused:
        return None
    drawn = np.array([wrong_by(draw) for draw in heights.draws_um])
    by_um, u_um = drawn.mean(axis=0), drawn.std(axis=0)
    worst = int(np.argmax(by_um - SURE * u_um))
    found = Conflict(
        where=where,
        kind=kind,
        rubbed=mean,
        height_um=sign * float(by_um[worst]),
        u_um=float(u_um[worst]),
    )
    return found if found.beyond_um > 0 else None
