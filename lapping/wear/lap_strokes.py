"""Where a face is, and where the hand presses, in the course of one stroke on a lap."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.wear.lap_contact import Cells

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LapSurface:
    """A lap with paper on it: its outline, and how far it stands proud, in µm.

    ``height_um`` (n_along, n_across) is on a regular grid from the left end to the
    right end and from the near edge to the far edge, the borders included; a lap of
    few numbers may have 2 × 2, which can hold a twist. Between its places it is
    interpolated, linearly both ways.
    """

    length_mm: float
    width_mm: float
    height_um: Array = field(default_factory=lambda: np.zeros((2, 2)))

    def __post_init__(self) -> None:
        """Copy the heights and refuse a lap that is none."""
        kept = np.array(self.height_um, dtype=np.float64)
        kept.setflags(write=False)
        object.__setattr__(self, "height_um", kept)
        if kept.ndim != 2 or min(kept.shape) < 2 or not np.isfinite(kept).all():
            message = "'height_um' must be a grid of at least 2 × 2 finite heights"
            raise ValueError(message)
        if not (self.length_mm > 0 and self.width_mm > 0):
            message = "a lap's length and width must be more than 0 mm"
            raise ValueError(message)

    def at(self, along_mm: Array, across_mm: Array) -> Array:
        """Give the height at places on the lap; beyond it that of its border."""
        n_along, n_across = self.height_um.shape
        i, s = _between(along_mm / self.length_mm, n_along)
        j, t = _between(across_mm / self.width_mm, n_across)
        h = self.height_um
        near = (1 - s) * h[i, j] + s * h[i + 1, j]
        far = (1 - s) * h[i, j + 1] + s * h[i + 1, j + 1]
        found: Array = (1 - t) * near + t * far
        return found

    def has(self, along_mm: Array, across_mm: Array) -> NDArray[np.bool_]:
        """Say for each place whether the lap is under it."""
        inside: NDArray[np.bool_] = (
            (along_mm >= 0)
            & (along_mm <= self.length_mm)
            & (across_mm >= 0)
            & (across_mm <= self.width_mm)
        )
        return inside


def bowed_lap(
    length_mm: float,
    width_mm: float,
    *,
    along_bow_um: float = 0.0,
    across_bow_um: float = 0.0,
    twist_um: float = 0.0,
    places: int = 161,
) -> LapSurface:
    """Make a lap of second degree; bows are crowns, twist as in `form`, all in µm."""
    a = np.linspace(-1, 1, places)[:, None]
    c = np.linspace(-1, 1, places)[None, :]
    height = -along_bow_um * a**2 - across_bow_um * c**2 + twist_um / 4 * a * c
    return LapSurface(length_mm=length_mm, width_mm=width_mm, height_um=height)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rubbing:
    """How a face is rubbed: one stroke is a push of ``stroke_mm`` and its return.

    ``hand_along_mm`` and ``hand_across_mm`` are where the load acts, from the middle of
    the face towards heel and right edge; during each push it swings evenly from
    ``-swing_along_mm`` to ``+swing_along_mm`` about that, and likewise across, and back
    again on the return. ``heading_deg`` turns the face on the lap: at 0 the toe points
    to the lap's left end, at 90 to its far edge, at 180 the face is turned end for end.
    Strokes run along the face, or across it (``across``). ``off_along_mm`` and
    ``off_across_mm`` are where the middle of the strokes lies, from the lap's middle.
    """

    load_n: float
    stroke_mm: float
    hand_along_mm: float = 0.0
    hand_across_mm: float = 0.0
    swing_along_mm: float = 0.0
    swing_across_mm: float = 0.0
    heading_deg: float = 0.0
    across: bool = False
    off_along_mm: float = 0.0
    off_across_mm: float = 0.0
    sub_positions: int = 16

    def __post_init__(self) -> None:
        """Refuse what nobody can do."""
        for name in ("load_n", "stroke_mm"):
            value = getattr(self, name)
            if not 0 < value < math.inf:
                message = f"'{name}' must be more than 0 (got {value:g})"
                raise BadInput(message)
        if self.sub_positions < 1:
            message = f"'sub_positions' must be 1 or more (got {self.sub_positions})"
            raise BadInput(message)

    @property
    def path_mm(self) -> float:
        """Give how far the face travels in one stroke, push and return."""
        return 2 * self.stroke_mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moments:
    """The m moments of a stroke that stand for all of it, each for the same path.

    ``hand`` (m, 2) as in `press`; ``lap_um`` (m, n) is the lap's height under each
    cell, None where it is flat; ``bears`` (m, n) where paper is, None if everywhere.
    """

    hand: Array
    lap_um: Array | None
    bears: NDArray[np.bool_] | None


def moments_of(cells: Cells, rubbing: Rubbing, lap: LapSurface | None) -> Moments:
    """Give the moments of one stroke; one is enough where nothing changes in it.

    Without a lap the paper is flat and has no end.
    """
    r, face = rubbing, cells.face
    changes = lap is not None or r.swing_along_mm != 0 or r.swing_across_mm != 0
    m = r.sub_positions if changes else 1
    # The middles of m equal parts of a push, from -1 to 1; the return is the same.
    phase = (2 * np.arange(m) + 1) / m - 1
    hand_along = r.hand_along_mm + r.swing_along_mm * phase
    hand_across = r.hand_across_mm + r.swing_across_mm * phase
    hand = np.stack(
        [2 * hand_along / face.length_mm, 2 * hand_across / face.width_mm], axis=1
    )
    if np.abs(hand).max() >= 1:
        message = (
            "the hand presses beside the face, so that it tips; keep it on the face"
        )
        raise BadInput(message)
    if lap is None:
        return Moments(hand=hand, lap_um=None, bears=None)
    moved = phase[:, None] * r.stroke_mm / 2
    u = cells.along_mm - face.length_mm / 2 + (0.0 if r.across else moved)
    # The face lies on its face: its right edge is where its left edge would be.
    v = face.width_mm / 2 - cells.across_mm + (moved if r.across else 0.0)
    turn = math.radians(r.heading_deg)
    along = lap.length_mm / 2 + r.off_along_mm + math.cos(turn) * u + math.sin(turn) * v
    across = (
        lap.width_mm / 2 + r.off_across_mm - math.sin(turn) * u + math.cos(turn) * v
    )
    bears = lap.has(along, across)
    return Moments(
        hand=hand,
        lap_um=lap.at(along, across) if lap.height_um.any() else None,
        bears=None if bears.all() else bears,
    )


def _between(share: Array, places: int) -> tuple[NDArray[np.intp], Array]:
    """Give the grid place below each share of the way, and how far past it, 0 to 1."""
    at = np.clip(share, 0.0, 1.0) * (places - 1)
    below = np.minimum(at.astype(np.intp), places - 2)
    return below, at - below
