"""Where a face bore on the lap, as the ink that was rubbed off it shows.

A photo gives, for small squares of the face, how much ink there was, how much is left
and how much of the square could be seen. Everything that is said of contact is worked
out from that here, so that it means the same whoever looked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.contact_places import ContactPlace, contact_places
from lapping.face import Face, Zone
from lapping.grid import metal_mask

Array = NDArray[np.float64]
Baseline = Literal["before photo", "estimated"]

CELL_MM = 10.0
"""A cell is about so long and wide; figures of contact are kept per cell."""
SUB = 4
"""A cell is so many small squares long and wide, for places and for the picture."""
SEEN_SHARE = 0.25
"""A cell of which less was seen, or less than this share of the usual ink was ever
there, is not seen at all: too little to tell the rest by."""
BEARS = 0.5
"""A place bears where at least this share of its ink is rubbed off."""
TOGETHER = 0.5
"""Of what a cell may err, so much is the same all over the face (level of the ink)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ContactMap:
    """Share of the ink rubbed off per cell (rows along, columns across), NaN not seen.

    ``u`` is the standard uncertainty of ``rubbed``, ``unknown`` the share of the
    cell's metal that was not seen. The ``fine_`` arrays are the same for squares SUB
    times smaller each way; cells without metal (mouth, holes) are NaN in all of them.
    """

    face: Face
    baseline: Baseline
    rubbed: Array
    u: Array
    unknown: Array
    fine_rubbed: Array
    fine_unknown: Array
    metal: Array
    warnings: tuple[str, ...] = ()

    @property
    def contact_percent(self) -> float | None:
        """Give how much of the metal seen bore; None where nothing was seen."""
        return self._mean_percent(np.ones(self.rubbed.shape))

    @property
    def contact_u_percent(self) -> float | None:
        """Give the standard uncertainty of that; cells err together by about half."""
        told = np.isfinite(self.rubbed)
        if self.contact_percent is None:
            return None
        return float(100 * TOGETHER * self.u[told].mean())

    @property
    def unknown_percent(self) -> float:
        """Give how much of the metal was not seen."""
        if not np.isfinite(self.rubbed).any():
            return 100.0
        # A cell too little seen to be told is unknown as a whole; one that never had
        # ink, between lines that are far apart, was seen all the same.
        unseen = np.where(self.unknown > 1 - SEEN_SHARE, 1.0, self.unknown)
        return float(100 * np.nansum(self.metal * unseen) / self.metal.sum())

    @property
    def zones(self) -> dict[str, float | None]:
        """Give contact in percent in each zone of the face, and on both edges."""
        shares = {z.name: self._share(z) for z in self.face.zones()}
        edges = shares.pop("left edge") + shares.pop("right edge")
        return {
            name: self._mean_percent(share)
            for name, share in (shares | {"edges": np.minimum(edges, 1.0)}).items()
        }

    @property
    def places(self) -> tuple[ContactPlace, ...]:
        """Give the largest places that bear, in words."""
        return contact_places(self.face, np.nan_to_num(self.fine_filled) >= BEARS)

    @property
    def fine_filled(self) -> Array:
        """Give the small squares, those that had no ink of their own as their cell."""
        cells = self.rubbed.repeat(SUB, axis=0).repeat(SUB, axis=1)
        own = np.isfinite(self.fine_rubbed)
        # What was not seen stays unknown, and the mouth stays open.
        seen = np.nan_to_num(self.fine_unknown, nan=1.0) <= 1 - SEEN_SHARE
        return np.where(own, self.fine_rubbed, np.where(seen, cells, np.nan))

    def _mean_percent(self, share: Array) -> float | None:
        seen = share * self.metal * (1 - np.nan_to_num(self.unknown, nan=1.0))
        seen = np.where(np.isfinite(self.rubbed), seen, 0.0)
        if seen.sum() < SEEN_SHARE * (share * self.metal).sum() or not seen.any():
            return None
        return float(100 * (seen * np.nan_to_num(self.rubbed)).sum() / seen.sum())

    def _share(self, zone: Zone) -> Array:
        """Give how much of each cell lies in the zone."""
        rows, columns = self.rubbed.shape
        along = _overlap(
            self.face.length_mm, rows, zone.along_from_mm, zone.along_to_mm
        )
        across = _overlap(
            self.face.width_mm, columns, zone.across_from_mm, zone.across_to_mm
        )
        return np.outer(along, across)


def squares(face: Face) -> tuple[int, int]:
    """Give how many small squares a face is long and wide."""
    rows = max(1, round(face.length_mm / CELL_MM))
    columns = max(1, round(face.width_mm / CELL_MM))
    return rows * SUB, columns * SUB


def contact_map(
    face: Face,
    *,
    ink: Array,
    was: Array,
    seen: Array,
    u: float | Array,
    baseline: Baseline,
    warnings: Sequence[str] = (),
) -> ContactMap:
    """Work out contact from small squares, as many as ``squares`` says.

    ``was`` is how much ink a square had and ``ink`` how much it has, both as mean
    density over what was seen of it (1 is a full coat); ``seen`` the share of the
    square that was seen; ``u`` the standard uncertainty of a square's rubbed share.
    """
    rows, columns = squares(face)
    metal = _metal(face, rows, columns)
    weight = metal * np.clip(seen, 0.0, 1.0)
    usual = float(np.median(was[weight > 0])) if (weight > 0).any() else 0.0
    # What a line gains at its one side in registration it loses at the other: over a
    # square and those beside it the two cancel, and untouched ink shows no stripes.
    near_weight = _near(weight)
    with np.errstate(invalid="ignore", divide="ignore"):
        fine = _ratio(
            _near(weight * ink) / near_weight,
            _near(weight * was) / near_weight,
            weight,
            weight > 0,
            usual,
        )
    large = [_sums(a) for a in (metal, weight, weight * ink, weight * was)]
    cell_metal, cell_weight, cell_ink, cell_was = large
    enough = cell_weight >= SEEN_SHARE * np.maximum(cell_metal, 1e-9)
    with np.errstate(invalid="ignore", divide="ignore"):
        rubbed = _ratio(
            cell_ink / cell_weight, cell_was / cell_weight, cell_weight, enough, usual
        )
        unknown = np.where(cell_metal > 0, 1 - cell_weight / cell_metal, np.nan)
        fine_unknown = np.where(metal > 0, 1 - weight / metal, np.nan)
    spread = _sums(weight * np.broadcast_to(u, weight.shape))
    doubt = np.where(
        np.isfinite(rubbed), spread / np.maximum(cell_weight, 1e-9), np.nan
    )
    return ContactMap(
        face=face,
        baseline=baseline,
        rubbed=_kept(rubbed),
        u=_kept(doubt),
        unknown=_kept(unknown),
        fine_rubbed=_kept(fine),
        fine_unknown=_kept(fine_unknown),
        metal=_kept(cell_metal / SUB**2),
        warnings=tuple(warnings),
    )


def _ratio(
    ink: Array, was: Array, weight: Array, enough: NDArray[np.bool_], usual: float
) -> Array:
    told = enough & (weight > 0) & (was >= SEEN_SHARE * usual) & (was > 0)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(told, np.clip(1 - ink / was, 0.0, 1.0), np.nan)


def _metal(face: Face, rows: int, columns: int) -> Array:
    """Give how much of each small square is metal."""
    fine = 3
    along = _middles(face.length_mm, rows * fine)
    across = _middles(face.width_mm, columns * fine)
    whole = metal_mask(face, along, across).astype(float)
    return np.asarray(whole.reshape(rows, fine, columns, fine).mean(axis=(1, 3)))


def _middles(size_mm: float, count: int) -> Array:
    return (np.arange(count) + 0.5) * size_mm / count


def _overlap(size_mm: float, count: int, start_mm: float, stop_mm: float) -> Array:
    edges = np.arange(count + 1) * size_mm / count
    inside = np.minimum(edges[1:], stop_mm) - np.maximum(edges[:-1], start_mm)
    return np.asarray(np.clip(inside, 0.0, None) / (size_mm / count))


def _near(fine: Array) -> Array:
    """Give the sum over each square and the eight round it."""
    wide = np.pad(fine, 1)
    rows = wide[:-2] + wide[1:-1] + wide[2:]
    return np.asarray(rows[:, :-2] + rows[:, 1:-1] + rows[:, 2:])


def _sums(fine: Array) -> Array:
    rows, columns = (n // SUB for n in fine.shape)
    return np.asarray(fine.reshape(rows, SUB, columns, SUB).sum(axis=(1, 3)))


def _kept(values: Array) -> Array:
    kept = np.array(values, dtype=np.float64)
    kept.setflags(write=False)
    return kept
