"""One face's readings in, one whole answer out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.bracket import Bracket, feeler_bracket
from lapping.errors import BadInput, TooFewReadings
from lapping.face import Face
from lapping.form import Form, form_of, unseen_shapes
from lapping.heights import Heights
from lapping.methods.combine import combine
from lapping.methods.dial import take_dial
from lapping.methods.feeler import sure_bounds, take_feeler
from lapping.methods.taken import Taken
from lapping.minimum_zone import MinimumZone, minimum_zone
from lapping.planes import LeastSquares, least_squares
from lapping.readings import ReadingSet, too_few_places
from lapping.resting import Rest, rest
from lapping.seen import not_seen, places_shown
from lapping.spots import Spot, spots
from lapping.surface import Surface, infer_surface
from lapping.uncertainty import (
    Floor,
    Likely,
    Verdict,
    likely_flatness,
    noise_floor,
    verdict_of,
)
from lapping.working import Working, works

BS_3623_UM = 80.0
"""BS 3623:1981 clause 8.1: highest and lowest within ±0.04 mm of the mean plane."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Answer:
    """All that the readings of one face say.

    ``unseen`` names the bows and twist that the readings cannot see; while there are
    any, ``likely`` has no upper limit and ``probability`` is None unless the face is
    not flat whatever they are.
    """

    sets: tuple[ReadingSet, ...]
    face: Face
    heights: Heights
    repeatability_um: float
    least_squares: LeastSquares
    zone: MinimumZone
    surface: Surface
    unseen: tuple[str, ...]
    likely: Likely
    floor: Floor
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
    not_seen: tuple[str, ...]
    warnings: tuple[str, ...]


def answer(sets: Sequence[ReadingSet], *, target_um: float | None = None) -> Answer:
    """Work out everything that readings of one face say.

    Several sets are one face: BadInput when their faces differ. Heights in µm,
    positions in mm. ``target_um`` overrides the target in the files; 80 µm is assumed
    where there is none.
    """
    face = _one_face(sets)
    # First of all, because leaves that contradict each other have no surface.
    bracket = _bracket(sets)
    parts = [take_dial(s) if s.method == "dial" else take_feeler(s) for s in sets]
    taken = combine(face, parts)
    own = [s.target_um for s in sets if s.target_um is not None]
    given = target_um if target_um is not None else (min(own) if own else None)
    target = BS_3623_UM if given is None else given
    heights = taken.heights
    trouble = too_few_places(
        set(zip(heights.along_mm.tolist(), heights.across_mm.tolist(), strict=True))
    )
    if trouble:
        raise TooFewReadings(trouble)
    columns = (heights.along_mm, heights.across_mm, heights.height_um)
    zone = minimum_zone(*columns)
    surface = infer_surface(face, taken.observations)
    unseen = unseen_shapes(face, taken.observations)
    floor = noise_floor(face, taken)
    tied = [_bounded(surface, part) for part in parts] if unseen else []
    likely = likely_flatness(surface, zone, floor, tied=tied)
    working = works(surface, target)
    probability = likely.chance_within(target)
    shown = places_shown(surface, sets)
    level = least_squares(surface.along_mm, surface.across_mm, surface.mean_um)
    p = surface.places
    high, low = spots(
        surface.grid, level.residual_um[p:], surface.sd_um[p:], shown=shown
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
        least_squares=least_squares(*columns),
        zone=zone,
        surface=surface,
        unseen=unseen,
        likely=likely,
        floor=floor,
        bracket=bracket,
        form=form_of(surface, unseen),
        high_spots=high,
        low_spots=low,
        rest=resting,
        touches_mm=_touches(resting, surface, known),
        rocks=None if resting is None else resting.rock_um > floor.clear_um,
        target_um=target,
        target_is_default=given is None,
        probability=probability,
        verdict=verdict_of(probability),
        working=working,
        working_verdict=verdict_of(None if unseen else working.probability),
        not_seen=not_seen(surface, sets, unseen, shown),
        warnings=_warnings(sets, taken.warnings),
    )


def _bounded(surface: Surface, part: Taken) -> NDArray[np.intp]:
    """Give which places one set of readings bounds both from below and from above."""
    obs, p = part.observations, surface.places
    tells = np.isfinite(obs.low_um) & np.isfinite(obs.high_um)
    at = obs.weights[tells].any(axis=0)
    own = set(zip(obs.along_mm[at].tolist(), obs.across_mm[at].tolist(), strict=True))
    all_places = zip(
        surface.along_mm[:p].tolist(), surface.across_mm[:p].tolist(), strict=True
    )
    return np.array([i for i, at in enumerate(all_places) if at in own], dtype=np.intp)


def _touches(
    resting: Rest | None, surface: Surface, known: NDArray[np.bool_]
) -> tuple[tuple[float, float], ...]:
    """Give the touching places, the one farthest from the middle first."""
    if resting is None:
        return ()
    which = np.nonzero(known)[0][list(resting.support.touches)]
    along, across = surface.along_mm[which], surface.across_mm[which]
    face = surface.face
    off = np.hypot(along - face.length_mm / 2, across - face.width_mm / 2)
    return tuple(
        (float(along[i]), float(across[i])) for i in np.argsort(-off, kind="stable")
    )


def _one_face(sets: Sequence[ReadingSet]) -> Face:
    first = sets[0]
    mistakes = [
        f"{other.source}: its face ({_outline(other.face)}) is not the face of "
        f"{first.source} ({_outline(first.face)}); files given together must be "
        "readings of one face."
        for other in sets[1:]
        if other.face != first.face
    ]
    if mistakes:
        raise BadInput(mistakes)
    return first.face


def _outline(face: Face) -> str:
    text = f"{face.kind}, {face.length_mm:g} × {face.width_mm:g} mm"
    if face.mouth is not None:
        text += f", mouth {face.mouth.from_mm:g} to {face.mouth.to_mm:g} mm"
    if face.holes:
        text += f", {len(face.holes)} holes"
    return text


def _bracket(sets: Sequence[ReadingSet]) -> Bracket | None:
    """Give the guaranteed bracket of leaves; nothing else guarantees bounds."""
    if len(sets) != 1 or sets[0].method != "feeler":
        return None
    bounds = sure_bounds(sets[0])
    if bounds is None:
        return None
    return feeler_bracket(
        bounds.along_mm, bounds.across_mm, bounds.low_um, bounds.high_um
    )


def _warnings(
    sets: Sequence[ReadingSet], from_methods: tuple[str, ...]
) -> tuple[str, ...]:
    found = [w for s in sets for w in s.warnings]
    found += from_methods
    if any(s.reference_flatness_um is None for s in sets):
        found.append(
            "Flat relative to the plate or bed it was read on: how flat that is was "
            "not stated (reference_flatness)."
        )
    if any(s.turned for s in sets):
        found.append(
            "turned: read, but one file alone separates nothing from the plate's own "
            "shape; the figures are relative to the plate."
        )
    return tuple(dict.fromkeys(found))
