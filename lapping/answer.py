"""One face's readings in, one whole answer out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.errors import TooFewReadings
from lapping.face import Face
from lapping.heights import Heights
from lapping.methods.combine import combine
from lapping.methods.feeler import proved_bracket
from lapping.methods.network import Closure, adjust, closures
from lapping.methods.take import take_each
from lapping.methods.turning import Turned, share_the_plate, what_turning_tells
from lapping.more_lines import line_to_read
from lapping.one_face import disagreement, one_face, shown_in, to_mind
from lapping.planes import LeastSquares, least_squares
from lapping.readings import ReadingSet, too_few_places
from lapping.reference import Reference, check_placing, take_off, with_doubt
from lapping.resting import Rest, rest
from lapping.squareness import Squareness, squareness
from lapping.surface.form import Form, form_of, unseen_shapes
from lapping.surface.heights_known import heights_known
from lapping.surface.left_out import odd_reading
from lapping.surface.posterior import Surface, infer_surface
from lapping.surface.seen import not_seen, places_shown, zones_unread
from lapping.surface.spots import Read, Spot, spots
from lapping.surface.uncertainty import (
    Floor,
    Likely,
    Verdict,
    if_read,
    least_flatness,
    likely_flatness,
    noise_floor,
    verdict_of,
)
from lapping.units import HeightUnit
from lapping.words.odd import odd_words
from lapping.working import Working, works
from lapping.zone.bracket import Bracket
from lapping.zone.minimum_zone import MinimumZone, minimum_zone

Array = NDArray[np.float64]

BS_3623_UM = 80.0
"""BS 3623:1981 clause 8.1: highest and lowest within ±0.04 mm of the mean plane."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Answer:
    """All that the readings of one face say.

    ``unseen`` names the bows and twist that the readings cannot see; while there are
    any, ``likely`` has no upper limit and ``probability`` is None unless the face is
    not flat whatever they are, and ``next_line`` says what would show the most of
    them. ``probability`` is None too while sets are ``at_odds``: the first warning.
    ``unread`` are zones that have to bear and have no reading near them: None too
    where all that was read is flat.
    ``heights``, with the figures from them, are None where lines leave them open.
    """

    sets: tuple[ReadingSet, ...]
    face: Face
    heights: Heights | None
    repeatability_um: float
    least_squares: LeastSquares | None
    zone: MinimumZone | None
    closures: tuple[Closure, ...]
    spare: int
    surface: Surface
    unseen: tuple[str, ...]
    next_line: str | None
    likely: Likely
    floor: Floor | None
    bracket: Bracket | None
    form: Form
    high_spots: tuple[Spot, ...]
    low_spots: tuple[Spot, ...]
    rest: Rest | None
    touches_mm: tuple[tuple[float, float], ...]
    rocks: bool | None
    target_um: float
    target_is_default: bool
    probability: float | None
    verdict: Verdict
    working: Working
    working_verdict: Verdict
    squareness: Squareness | None
    turned: Turned | None
    not_seen: tuple[str, ...]
    shown_in: HeightUnit
    at_odds: bool
    unread: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def points(self) -> int:
        """Give the number of distinct places read."""
        return int(self.places_mm[0].size)

    @property
    def places_mm(self) -> tuple[Array, Array]:
        """Give the distinct places read, along and across."""
        if self.heights is not None:
            return self.heights.along_mm, self.heights.across_mm
        p = self.surface.places
        return self.surface.along_mm[:p], self.surface.across_mm[:p]


def answer(
    sets: Sequence[ReadingSet],
    *,
    target_um: float | None = None,
    reference: Reference | None = None,
    unit: HeightUnit | None = None,
) -> Answer:
    """Work out everything that readings of one face say.

    Several sets are one face: BadInput when their faces differ. Heights in µm,
    positions in mm. ``target_um`` overrides the target in the files; 80 µm is assumed
    where there is none. ``unit`` is what sentences give heights in, that of the sets
    where it is None. ``reference`` is the measured plate or edge that all was read
    on; BadInput where the face does not lie on it.
    """
    face, unit = one_face(sets), unit or shown_in(sets)
    lines = [s for s in sets if s.method != "square"]
    # First of all, because leaves that contradict each other have no surface. A map
    # taken off is likely, not proved.
    bracket = None if reference is not None else proved_bracket(lines)
    each = take_each(lines)
    if reference is not None:
        check_placing(face, lines, reference)
        each = [take_off(s, t, reference) for s, t in zip(lines, each, strict=True)]
    taken = combine(face, share_the_plate(face, lines, each))
    obs = taken.observations
    trouble = too_few_places(
        set(zip(obs.along_mm.tolist(), obs.across_mm.tolist(), strict=True))
    )
    if trouble:
        raise TooFewReadings(trouble)
    own = [s.target_um for s in sets if s.target_um is not None]
    given = target_um if target_um is not None else (min(own) if own else None)
    target = BS_3623_UM if given is None else given
    surface = infer_surface(face, obs)
    if reference is not None:
        surface = with_doubt(surface, lines, reference)
    # Taken as read: what a reference's own map takes off is no slip.
    odd = None if surface.left_out is None else odd_reading(face, obs, surface.left_out)
    p = surface.places
    unseen = unseen_shapes(face, obs)
    alone = taken.heights is not None and len(lines) == 1
    network = adjust(face, obs) if unseen or not alone else None
    closed = () if network is None else closures(obs, network)
    heights = root = None
    # One pair of sticks leaves nothing open at its four ends, and is no height.
    if any(s.method != "winding" for s in lines):
        heights, root = heights_known(taken, surface, network, unseen)
    zone = floor = level = None
    if heights is not None:
        columns = (heights.along_mm, heights.across_mm, heights.height_um)
        zone, level = minimum_zone(*columns), least_squares(*columns)
        floor = noise_floor(face, heights, obs.reference_u_um, root=root)
    if unseen and network is not None:
        likely = least_flatness(surface, network)
    else:
        proved_um = 0.0 if bracket is None else bracket.lower_um
        likely = likely_flatness(surface, zone, floor, proved_um)
    working = works(surface, target, clear=likely.clear)
    # Sets that cannot all be right are likely two states of the face: no one answer.
    disagree = disagreement(face, closed, unit)
    at_odds = bool(disagree) and len(lines) > 1
    shown = places_shown(surface, lines)
    unread = zones_unread(surface, shown)
    probability = None if at_odds else if_read(likely.chance_within(target), unread)
    works_by = None if unseen or at_odds else if_read(working.probability, unread)
    mean = least_squares(surface.along_mm, surface.across_mm, surface.mean_um)
    high: tuple[Spot, ...] = ()
    low: tuple[Spot, ...] = ()
    if not unseen:
        sd = surface.sd_um
        read = Read(
            along_mm=surface.along_mm[:p],
            across_mm=surface.across_mm[:p],
            height_um=mean.residual_um[:p],
            u_um=sd[:p],
        )
        high, low = spots(
            surface.grid, mean.residual_um[p:], sd[p:], shown=shown, read=read
        )
    known = np.concatenate([np.ones(p, dtype=np.bool_), shown])
    resting = None
    if not unseen:
        resting = rest(
            face,
            surface.along_mm[known],
            surface.across_mm[known],
            surface.mean_um[known],
        )
    return Answer(
        sets=tuple(sets),
        face=face,
        heights=heights,
        repeatability_um=taken.repeatability_um,
        least_squares=level,
        zone=zone,
        closures=closed,
        spare=0 if network is None else network.spare,
        surface=surface,
        unseen=unseen,
        next_line=line_to_read(face, obs) if unseen else None,
        likely=likely,
        floor=floor,
        bracket=bracket,
        form=form_of(surface, unseen),
        high_spots=high,
        low_spots=low,
        rest=resting,
        touches_mm=() if resting is None else resting.touches_mm,
        rocks=_rocks(resting, floor),
        target_um=target,
        target_is_default=given is None,
        probability=probability,
        verdict=verdict_of(probability),
        working=working,
        working_verdict=verdict_of(works_by),
        squareness=squareness(sets),
        not_seen=not_seen(surface, lines, unseen, shown),
        turned=what_turning_tells(lines),
        shown_in=unit,
        at_odds=at_odds,
        unread=unread,
        warnings=(
            *disagree,
            *odd_words(face, lines, odd, obs.value_um.size, unit),
            *to_mind(sets, stated=reference is not None),
            *taken.warnings,
        ),
    )


def _rocks(resting: Rest | None, floor: Floor | None) -> bool | None:
    """Say whether it rocks by more than a flat face might seem to."""
    if resting is None or floor is None:
        return None
    return resting.rock_um > floor.clear_um
