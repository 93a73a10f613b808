"""Turning the work on its plate: what of the plate's own shape that tells apart.

Shapes that change sign under the turn can be told from the face's; those that do not
stay confounded. A half-turn leaves both bows and twist alone; a quarter-turn changes
the sign of twist and of the difference of the plate's two bows, not of their sum.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.methods.taken import Taken
from lapping.observations import scaled
from lapping.readings import ReadingSet

Array = NDArray[np.float64]

PLATED = ("dial", "feeler")


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """What turning the work separated from the plate or edge, and what it did not."""

    separated: tuple[str, ...]
    confounded: tuple[str, ...]


def what_turning_tells(sets: Sequence[ReadingSet]) -> Turned | None:
    """Say what the turned sets separate; None when nothing was turned."""
    edges = {s.turned for s in sets if s.method == "straightedge"}
    separated: list[str] = []
    confounded: list[str] = []
    for method in PLATED:
        turns = _turns(sets, method)
        if "quarter" in turns and None in turns:
            separated += ["twist", "difference of the plate's two bows"]
            confounded += ["sum of the plate's two bows"]
            continue
        if turns - {None}:
            confounded += ["along-bow", "across-bow", "twist"]
        if "half" in turns and None in turns:
            separated += ["shapes of the plate that change sign end for end"]
    if edges - {None}:
        confounded += ["bow of the edge"]
        if None in edges:
            separated += ["S-shape of the edge"]
    if not separated and not confounded:
        return None
    return Turned(
        separated=tuple(dict.fromkeys(separated)),
        confounded=tuple(dict.fromkeys(confounded)),
    )


def share_the_plate(
    face: Face, sets: Sequence[ReadingSet], taken: Sequence[Taken]
) -> list[Taken]:
    """Give sets read on one plate, the work turned between, the plate as an unknown.

    Only the shapes that the turns tell; the rest stays in ``reference_u_um``. What an
    indicator and what leaves were read on need not be one plate.
    """
    shared = []
    for readings, one in zip(sets, taken, strict=True):
        turns = _turns(sets, readings.method)
        if None not in turns or turns == {None}:
            shared.append(one)
            continue
        obs = one.observations
        shapes = _plate_shapes(
            face, obs.along_mm, obs.across_mm, readings.turned, turns
        )
        columns: Array = obs.weights @ shapes
        free = np.full(columns.shape[1], np.inf)
        dome = np.array([1.0, (face.width_mm / face.length_mm) ** 2, 0.0])
        left = obs.reference_u_um * (dome if "quarter" in turns else 1.0)
        shared.append(
            replace(
                one,
                observations=replace(
                    obs,
                    unknowns=np.column_stack([obs.unknowns, columns]),
                    unknown_u=np.concatenate([obs.unknown_u, free]),
                    shared=columns.shape[1],
                    shared_by=readings.method,
                    reference_u_um=left,
                ),
            )
        )
    return shared


def _turns(sets: Sequence[ReadingSet], method: str) -> set[str | None]:
    """Give how the work lay on the plate in the sets of one method."""
    return {s.turned for s in sets if s.method == method and method in PLATED}


def _plate_shapes(
    face: Face,
    along_mm: Array,
    across_mm: Array,
    turned: str | None,
    turns: Set[str | None],
) -> Array:
    """Give the plate's shapes as this set sees them, those that some turn changes."""
    a, c = scaled(face, along_mm, across_mm)
    narrow = face.width_mm / face.length_mm
    columns = []
    if "quarter" in turns:
        sign = -1.0 if turned == "quarter" else 1.0
        columns += [sign * a * c, sign * (a**2 - (narrow * c) ** 2)]
    if "half" in turns and "quarter" not in turns:
        sign = -1.0 if turned == "half" else 1.0
        columns += [sign * term for term in (a**3, a**2 * c, a * c**2, c**3)]
    return np.stack(columns, axis=1)
