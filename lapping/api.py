"""Everything the command line answers, as functions on arrays.

Positions are in millimetres in the frame of docs/conventions.md (``along_mm`` from the
toe, ``across_mm`` from the left edge, face up with the toe pointing away), heights in
micrometres and positive when proud. Every function returns a whole value or raises:
BadInput or TooFewReadings for readings that cannot be right or carry no answer,
ValueError for columns that do not agree.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from lapping.answer import Answer, answer
from lapping.errors import BadInput, LappingError, TooFewReadings
from lapping.face import Face, Hole, Mouth
from lapping.from_files import AnyPath, check_readings
from lapping.heights import column
from lapping.planes import LeastSquares, least_squares
from lapping.readings import (
    LEAF_TOLERANCE_UM,
    DialReading,
    FeelerReading,
    ReadingSet,
)
from lapping.square_answer import SquareAnswer
from lapping.squareness import Squareness
from lapping.words.answer import report
from lapping.words.answer_json import to_json
from lapping.zone.bracket import Bracket, feeler_bracket
from lapping.zone.minimum_zone import MinimumZone, minimum_zone
from lapping.zone.minimum_zone_many import minimum_zone_many
from lapping.zone.width import Width, orthogonal_width

__all__ = [
    "Answer",
    "BadInput",
    "Bracket",
    "Face",
    "Hole",
    "LappingError",
    "LeastSquares",
    "MinimumZone",
    "Mouth",
    "Squareness",
    "TooFewReadings",
    "Width",
    "check",
    "check_files",
    "check_leaves",
    "check_squares",
    "feeler_bracket",
    "least_squares",
    "minimum_zone",
    "minimum_zone_many",
    "orthogonal_width",
    "report",
    "to_json",
]


def check(
    along_mm: ArrayLike,
    across_mm: ArrayLike,
    height_um: ArrayLike,
    *,
    length_mm: float,
    width_mm: float,
    repeatability_um: float,
    mouth_mm: tuple[float, float] | None = None,
    target_um: float | None = None,
    reference_flatness_um: float | None = None,
) -> Answer:
    """Answer for heights read one by one, such as by a dial indicator.

    Columns (n,) in the order read: repeated places give repeatability, the first place
    read again gives drift. ``repeatability_um`` is the standard deviation of one
    reading, ``mouth_mm`` where the mouth begins and ends along the face, ``target_um``
    the largest total flatness allowed (80 where not given: BS 3623:1981).
    """
    along, across, height = _columns(along_mm, across_mm, height_um)
    face = _face(length_mm, width_mm, mouth_mm)
    _check_places(face, along, across)
    _check_positive(repeatability_um=repeatability_um)
    readings = tuple(
        DialReading(along_mm=a, across_mm=c, value_um=h, entered_as=f"{h!r}", line=i)
        for i, (a, c, h) in enumerate(zip(along, across, height, strict=True), start=1)
    )
    return answer(
        [
            ReadingSet(
                source="arrays",
                method="dial",
                face=face,
                unit="um",
                readings=readings,
                step_um=repeatability_um,
                sense="high-positive",
                repeatability_um=repeatability_um,
                reference_flatness_um=reference_flatness_um,
            )
        ],
        target_um=target_um,
    )


def check_leaves(
    along_mm: ArrayLike,
    across_mm: ArrayLike,
    goes_um: ArrayLike,
    stops_um: ArrayLike,
    *,
    length_mm: float,
    width_mm: float,
    mouth_mm: tuple[float, float] | None = None,
    target_um: float | None = None,
    reference_flatness_um: float | None = None,
    leaf_tolerance_um: float = LEAF_TOLERANCE_UM,
) -> Answer:
    """Answer for feeler leaves under a face resting on a plate.

    Columns (n,): ``goes_um`` is the thickest leaf that goes (0 for none), ``stops_um``
    the next one that does not (infinity where none was tried). ``leaf_tolerance_um``
    is the limit of error of one leaf.
    """
    along, across, goes = _columns(along_mm, across_mm, goes_um)
    stops = np.asarray(stops_um, dtype=np.float64)
    if stops.shape != (len(goes),) or not (stops > np.array(goes)).all():
        message = "every leaf that stops must be thicker than the one that goes"
        raise BadInput(message)
    face = _face(length_mm, width_mm, mouth_mm)
    _check_places(face, along, across)
    readings = tuple(
        FeelerReading(
            along_mm=a,
            across_mm=c,
            goes_um=g,
            stops_um=None if s == np.inf else s,
            goes_leaves=int(g > 0),
            stops_leaves=int(s < np.inf),
            seat="1",
            entered_as=f"goes {g!r}, stops {s!r}",
            line=i,
        )
        for i, (a, c, g, s) in enumerate(
            zip(along, across, goes, stops.tolist(), strict=True), start=1
        )
    )
    return answer(
        [
            ReadingSet(
                source="arrays",
                method="feeler",
                face=face,
                unit="um",
                readings=readings,
                step_um=1.0,
                reference_flatness_um=reference_flatness_um,
                leaf_tolerance_um=leaf_tolerance_um,
            )
        ],
        target_um=target_um,
    )


def check_files(
    paths: AnyPath | Sequence[AnyPath],
    *,
    target_um: float | None = None,
    units: str | None = None,
    reference: AnyPath | None = None,
) -> Answer:
    """Answer for readings files; several are one face.

    ``units`` is the unit of bare numbers in files that name none, ``reference`` a file
    of readings of the plate or edge used. Raises BadInput with a sentence for every
    mistake, and for files that hold nothing but squares: see `check_squares`.
    """
    found = check_readings(paths, target_um=target_um, units=units, reference=reference)
    if isinstance(found, SquareAnswer):
        message = "squares tell angles and no heights; use check_squares"
        raise BadInput(message)
    return found


def check_squares(
    paths: AnyPath | Sequence[AnyPath], *, units: str | None = None
) -> Squareness:
    """Give the squareness of a side from files of square readings alone."""
    found = check_readings(paths, units=units)
    if isinstance(found, SquareAnswer):
        return found.squareness
    if found.squareness is None:
        message = "there are no square readings in these files"
        raise BadInput(message)
    return found.squareness


def _columns(*values: ArrayLike) -> list[list[float]]:
    columns = [column(v) for v in values]
    if len({c.shape for c in columns}) != 1 or columns[0].ndim != 1:
        message = f"columns must agree in length (got {[c.shape for c in columns]})"
        raise ValueError(message)
    return [c.tolist() for c in columns]


def _face(
    length_mm: float, width_mm: float, mouth_mm: tuple[float, float] | None
) -> Face:
    mouth = None
    if mouth_mm is not None:
        mouth = Mouth(from_mm=mouth_mm[0], to_mm=mouth_mm[1])
        if not 0 <= mouth.from_mm < mouth.to_mm <= length_mm:
            message = f"the mouth {mouth_mm} must lie in order within the face"
            raise BadInput(message)
    return Face(length_mm=length_mm, width_mm=width_mm, mouth=mouth)


def _check_places(face: Face, along: list[float], across: list[float]) -> None:
    off = [
        f"place {i} ({a:g}, {c:g}) mm is not on the metal of the face"
        for i, (a, c) in enumerate(zip(along, across, strict=True))
        if not face.is_metal(a, c)
    ]
    if off:
        raise BadInput(off)


def _check_positive(**sizes: float) -> None:
    for name, value in sizes.items():
        if not 0 < value < np.inf:
            message = f"'{name}' must be more than 0 (got {value:g})"
            raise ValueError(message)
