"""A measured lap, plate or edge under the readings: its map is taken off again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.face import Face
from lapping.methods.straightedge import along_edge
from lapping.methods.taken import Taken
from lapping.observations import scaled
from lapping.readings import ReadingSet, ReferenceAt
from lapping.surface.posterior import Surface

Array = NDArray[np.float64]

SIGN = {"dial": 1.0, "feeler": -1.0, "straightedge": -1.0}
"""An indicator's stand that rides over a proud place reads the face low; a gap over a
proud place of the plate or under a proud place of the edge is small."""
SLACK_MM = 0.5
EDGE_SHARE = 0.2
"""A straightedge is no wider than this share of its length."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reference:
    """A reference's own map, from readings of it as a face of kind ``lap``."""

    source: str
    surface: Surface

    def at(self, along_mm: Array, across_mm: Array) -> tuple[Array, Array]:
        """Give its mean height (n,) and drawn heights (draws, n) at places on it.

        Bilinear between the places of its grid.
        """
        grid, p = self.surface.grid, self.surface.places
        shape = grid.metal.shape
        values = np.vstack(
            [self.surface.mean_um[None, p:], self.surface.draws_um[:, p:]]
        )
        laid = values.reshape(-1, *shape)
        i, s = _within(grid.along_axis_mm, along_mm)
        j, t = _within(grid.across_axis_mm, across_mm)
        found = (
            laid[:, i, j] * (1 - s) * (1 - t)
            + laid[:, i + 1, j] * s * (1 - t)
            + laid[:, i, j + 1] * (1 - s) * t
            + laid[:, i + 1, j + 1] * s * t
        )
        return found[0], found[1:]


def check_placing(face: Face, sets: Sequence[ReadingSet], reference: Reference) -> None:
    """Raise BadInput where the face is not placed, or not on the reference."""
    mistakes = []
    lap = reference.surface.face
    for readings in sets:
        if readings.method == "straightedge":
            mistakes += _edge_too_short(readings, reference)
            continue
        if readings.method not in SIGN:
            continue
        if readings.reference_at is None:
            mistakes.append(
                f"{readings.source}: a reference is given, but not where the face lay "
                "on it; add '# reference_at: ALONG mm, ACROSS mm', the place of the "
                "reference under the face's own place 0,0"
            )
            continue
        along, across = on_reference(
            readings,
            np.array([0, 0, face.length_mm, face.length_mm]),
            np.array([0, face.width_mm, face.width_mm, 0]),
        )
        off = max(
            -along.min(),
            -across.min(),
            along.max() - lap.length_mm,
            across.max() - lap.width_mm,
        )
        if off > SLACK_MM:
            mistakes.append(
                f"{readings.source}: placed by reference_at, the face reaches "
                f"{off:.0f} mm over the edge of {reference.source}, which is "
                f"{lap.length_mm:g} × {lap.width_mm:g} mm; check reference_at, "
                "or measure more of it"
            )
    if mistakes:
        raise BadInput(mistakes)


def take_off(readings: ReadingSet, taken: Taken, reference: Reference) -> Taken:
    """Add back to each height what the reference's map took from it."""
    sign = SIGN.get(readings.method)
    if sign is None:
        return taken
    obs = taken.observations
    if readings.method == "straightedge":
        shift = sign * reference.at(*_on_edge(readings, reference))[0]
    else:
        places = on_reference(readings, obs.along_mm, obs.across_mm)
        shift = obs.weights @ (sign * reference.at(*places)[0])
    heights = taken.heights
    if heights is not None:
        places = on_reference(readings, heights.along_mm, heights.across_mm)
        heights = replace(
            heights, height_um=heights.height_um + sign * reference.at(*places)[0]
        )
    return replace(
        taken,
        heights=heights,
        observations=replace(
            obs,
            value_um=obs.value_um + shift,
            low_um=obs.low_um + shift,
            high_um=obs.high_um + shift,
            reference_u_um=np.zeros(3),
        ),
    )


def with_doubt(
    surface: Surface, sets: Sequence[ReadingSet], reference: Reference
) -> Surface:
    """Add the doubt of the reference's map to every drawn surface.

    Of an edge only the doubt of its bow counts: a dome over lines of every direction.
    """
    rng = np.random.default_rng(4)
    pick = rng.integers(0, len(reference.surface.draws_um), len(surface.draws_um))
    for readings in sets:
        if readings.method == "straightedge":
            face, lap = surface.face, reference.surface.face
            middle = np.full(3, lap.width_mm / 2)
            half = face.length_mm / 2
            ends = lap.length_mm / 2 + half * np.array([-1.0, 0.0, 1.0])
            mean, drawn = reference.at(ends, middle)
            sagitta = (drawn - mean) @ np.array([0.5, -1.0, 0.5])
            a, c = scaled(face, surface.along_mm, surface.across_mm)
            dome = a**2 + (face.width_mm / face.length_mm * c) ** 2
            return replace(
                surface, draws_um=surface.draws_um - np.outer(sagitta[pick], dome)
            )
        if readings.method in SIGN:
            places = on_reference(readings, surface.along_mm, surface.across_mm)
            mean, drawn = reference.at(*places)
            return replace(
                surface,
                draws_um=surface.draws_um
                + SIGN[readings.method] * (drawn[pick] - mean),
            )
    return surface


def on_reference(
    readings: ReadingSet, along_mm: Array, across_mm: Array
) -> tuple[Array, Array]:
    """Give the places of the reference under places of the face.

    Seen from above; a face read with leaves lies face down, which mirrors its across.
    """
    at = readings.reference_at
    if at is None:
        message = "the face was not placed"
        raise ValueError(message)
    across = -across_mm if readings.method == "feeler" else across_mm
    return _turn(at, along_mm, across)


def _turn(at: ReferenceAt, along: Array, across: Array) -> tuple[Array, Array]:
    match at.toe:
        case "left":
            return at.along_mm + along, at.across_mm + across
        case "right":
            return at.along_mm - along, at.across_mm - across
        case "far":
            return at.along_mm + across, at.across_mm - along
        case "near":
            return at.along_mm - across, at.across_mm + along


def _edge_too_short(readings: ReadingSet, reference: Reference) -> list[str]:
    lap = reference.surface.face
    if lap.width_mm > EDGE_SHARE * lap.length_mm:
        return [
            f"{readings.source}: the straightedge's own map {reference.source} is of a "
            f"face {lap.length_mm:g} × {lap.width_mm:g} mm, which is no edge; give the "
            "readings of the edge itself, long and narrow"
        ]
    reach = 2 * float(np.abs(along_edge(readings)).max())
    if reach <= lap.length_mm + SLACK_MM:
        return []
    return [
        f"{readings.source}: a line is {reach:.0f} mm long, but the edge measured in "
        f"{reference.source} only {lap.length_mm:g} mm; measure all of the edge"
    ]


def _on_edge(readings: ReadingSet, reference: Reference) -> tuple[Array, Array]:
    """Give the places of an edge over each reading: its middle over the line's."""
    lap = reference.surface.face
    where = along_edge(readings)
    flip = -1.0 if readings.turned == "half" else 1.0
    middle = np.full(where.size, lap.width_mm / 2)
    return lap.length_mm / 2 + flip * where, middle


def _within(axis: Array, places: Array) -> tuple[NDArray[np.intp], Array]:
    index = np.clip(np.searchsorted(axis, places) - 1, 0, axis.size - 2)
    share = (places - axis[index]) / (axis[index + 1] - axis[index])
    return index, np.clip(share, 0.0, 1.0)
