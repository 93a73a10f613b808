"""Do a scribble's ink and the readings of a gauge speak of the same face?

The heights are held against the ink as they were entered, with heel and toe swapped,
with left and right swapped, and with both, which is the face turned round. Leaves are
read with the sole down, where left and right do swap, so that slip is an easy one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.answer import Answer
from lapping.contact_map import ContactMap
from lapping.cross_check.conflicts import Conflict, conflicts
from lapping.cross_check.fit import (
    PATCHY,
    SCATTER,
    InkFit,
    Likely,
    SeenCells,
    fit_ink,
    grid_to_cells,
    likely_on_grid,
    seen_cells,
)
from lapping.errors import BadInput
from lapping.face import Face
from lapping.surface.posterior import Surface
from lapping.surface.seen import LEAF_REACH

Array = NDArray[np.float64]
Orientation = Literal["as entered", "heel for toe", "left for right", "turned round"]
Verdict = Literal[
    "as entered",
    "heel for toe",
    "left for right",
    "turned round",
    "mirrored",
    "not as entered",
    "cannot tell",
]

ORIENTATIONS: dict[Orientation, tuple[bool, bool]] = {
    "as entered": (False, False),
    "heel for toe": (True, False),
    "left for right": (False, True),
    "turned round": (True, True),
}
"""Which of along and across are swapped."""
TRUSTED = 0.7
"""Probability beforehand that readings were entered the right way; the other three
ways share the rest. Ours; no source."""
CLEARLY = 0.01
"""What is less likely than this is ruled out: it is said that readings do not lie as
they were entered, and of the other ways the rest are those that may be."""
FITS, BETTER = 2.0, 0.9
"""Ink is explained when no more of it is left than the photo's own doubt and the least
unevenness of ink leave; or at most FITS times that, if that is less than BETTER times
what the readings as entered leave."""
MATTERS_UM = 2.5
"""Swapping must move the heights by this much (root mean square) to be worth a word.
It also keeps small slips of the contact model from being taken for a swapped face."""
FEWEST_READ, FEWEST_SEEN, LEAST_SEEN = 6, 12, 0.3
LEAST_GONE = 0.1
"""A face of which no cell lost this share of its ink was not rubbed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OrientationFit:
    """How well the ink fits the readings turned one way.

    ``misfit`` is the root mean square share of ink left unexplained; ``moved_um`` how
    far this way moves the heights (root mean square, about the best-fit plane).
    """

    orientation: Orientation
    probability: float
    misfit: float
    moved_um: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossCheck:
    """What ink and gauge together say of each other.

    ``fits`` has all four orientations, as entered first; ``may_be`` are those that
    are left, the likeliest first, when what together is less likely than CLEARLY is
    ruled out. ``flipped``: another way fits clearly better than as entered.
    ``sole_down``: leaves are among the readings.
    """

    fits: tuple[OrientationFit, ...]
    may_be: tuple[Orientation, ...]
    flipped: bool
    conflicts: tuple[Conflict, ...]
    sole_down: bool

    @property
    def verdict(self) -> Verdict:
        """Name the way the readings lie, as closely as the ink tells it."""
        if not self.flipped:
            return "as entered" if self.may_be == ("as entered",) else "cannot tell"
        if len(self.may_be) == 1:
            return self.may_be[0]
        if set(self.may_be) == {"heel for toe", "left for right"}:
            return "mirrored"
        return "not as entered"


@dataclass(frozen=True, slots=True, kw_only=True)
class NotChecked:
    """Why ink and gauge cannot be held against each other."""

    why: str


def cross_check(answer: Answer, contact: ContactMap) -> CrossCheck | NotChecked:
    """Hold the readings of a face against the ink that was rubbed off it.

    BadInput when photo and readings are of different faces. NotChecked, with the
    reason, when either shows too little.
    """
    _same(answer.face, contact.face)
    leaves = [s.method == "feeler" for s in answer.sets]
    # Leaves say nothing of the middle, so only the ink of the rim is theirs to explain.
    rim_mm = LEAF_REACH * answer.face.width_mm if all(leaves) else np.inf
    seen = seen_cells(contact, rim_mm)
    why = _why_not(answer, contact, seen)
    if why is not None:
        return NotChecked(why=why)
    tried = _turned(answer.surface, contact, seen)
    fits = _weighed(fit_ink(contact.face, seen, tried), tried)
    may_be = _may_be(fits)
    doubt = float(np.sqrt(np.mean(seen.u**2) + SCATTER**2 + PATCHY[0] ** 2))
    as_entered = conflicts(answer.surface, contact)
    flipped = _fits_clearly_better(fits, doubt)
    if flipped:
        swapped = conflicts(answer.surface, contact, ORIENTATIONS[may_be[0]])
        flipped = _worst(swapped) <= _worst(as_entered)
    return CrossCheck(
        fits=fits,
        may_be=may_be,
        flipped=flipped,
        # What disagrees while the readings lie the wrong way is no place's own fault.
        conflicts=() if flipped else as_entered,
        sole_down=any(leaves),
    )


def _worst(found: Sequence[Conflict]) -> float:
    return max((c.beyond_um for c in found), default=0.0)


def _same(face: Face, other: Face) -> None:
    if (face.length_mm, face.width_mm) != (other.length_mm, other.width_mm):
        message = (
            f"The photo shows a face of {other.length_mm:g} × {other.width_mm:g} mm, "
            f"the readings are of one of {face.length_mm:g} × {face.width_mm:g} mm: "
            "give both the size of the one face."
        )
        raise BadInput([message])


def _why_not(answer: Answer, contact: ContactMap, seen: SeenCells) -> str | None:
    if answer.points < FEWEST_READ:
        return f"readings at {answer.points} places are too few; read {FEWEST_READ}"
    if answer.unseen:
        return f"the readings leave open {', '.join(answer.unseen)}"
    known = 1 - contact.unknown_percent / 100
    if known < LEAST_SEEN or seen.rubbed.size < FEWEST_SEEN:
        return f"only {known:.0%} of the face can be seen in the photo"
    if seen.rubbed.max() < LEAST_GONE:
        return "no ink was rubbed off where the photo shows the face"
    return None


def _turned(surface: Surface, contact: ContactMap, seen: SeenCells) -> list[Likely]:
    """Give what heights the cells seen may have, for each orientation."""
    whole = likely_on_grid(surface)
    face = contact.face
    tried = []
    for ends, sides in ORIENTATIONS.values():
        along = face.length_mm - seen.along_mm if ends else seen.along_mm
        across = face.width_mm - seen.across_mm if sides else seen.across_mm
        to_cells = grid_to_cells(contact, surface.grid, along, across)
        tried.append(
            Likely(mean_um=to_cells @ whole.mean_um, modes_um=to_cells @ whole.modes_um)
        )
    return tried


def _weighed(
    found: Sequence[InkFit], tried: Sequence[Likely]
) -> tuple[OrientationFit, ...]:
    prior = np.full(len(found), (1 - TRUSTED) / (len(found) - 1))
    prior[0] = TRUSTED
    score = np.log(prior) + np.array([f.log_evidence for f in found])
    chance = np.exp(score - score.max())
    chance /= chance.sum()
    return tuple(
        OrientationFit(
            orientation=name,
            probability=float(p),
            misfit=fit.misfit,
            moved_um=float(np.sqrt(np.mean((t.mean_um - tried[0].mean_um) ** 2))),
        )
        for name, p, fit, t in zip(ORIENTATIONS, chance, found, tried, strict=True)
    )


def _fits_clearly_better(fits: Sequence[OrientationFit], doubt: float) -> bool:
    """Say whether a way other than as entered is far likelier, fits, and matters."""
    entered, best = fits[0], max(fits, key=lambda f: f.probability)
    most = max(doubt, min(FITS * doubt, BETTER * entered.misfit))
    return (
        entered.probability < CLEARLY
        and best.misfit <= most
        and best.moved_um >= MATTERS_UM
    )


def _may_be(fits: Sequence[OrientationFit]) -> tuple[Orientation, ...]:
    found: list[Orientation] = []
    so_far = 0.0
    for fit in sorted(fits, key=lambda f: -f.probability):
        if so_far >= 1 - CLEARLY:
            break
        found.append(fit.orientation)
        so_far += fit.probability
    return tuple(found)
