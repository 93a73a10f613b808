"""The coverage study for straightedge lines and for several methods on one face.

The faces are those of tests.coverage_study. Run with

    python -m tests.coverage_lines             # 400 faces a cell, some minutes
    python -m tests.coverage_lines --faces 40  # a quick look

Straightedge: both edges, the centre, three lines across and, where the name says so,
both diagonals; the edge stands on two equal leaves, has a bow and an S-shape of its own
within a stated 10 µm, and every line lies on it anew. Gaps are read with leaves in
steps of 10 µm, each stack wrong by up to 5 µm, or measured to 5 µm. Without diagonals
twist is not seen: the least flatness must not exceed the truth and no upper figure may
be given. Mixed: a dial over the middle on one plate, leaves at the rim on another, and
winding sticks; both plates have bows and twist of their own within a stated 15 µm.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from lapping.answer import answer
from lapping.face import Face
from lapping.grid import metal_grid
from lapping.readings import EdgeReading, ReadingSet, WindingReading
from lapping.zone.minimum_zone import minimum_zone
from tests.coverage_study import (
    Cell,
    Outcome,
    Shape,
    draw_face,
    read_dial,
    read_feeler,
    row,
)

Array = NDArray[np.float64]
Reader = Callable[[np.random.Generator, Face, Shape], list[ReadingSet]]
EDGE_UM, PLATE_UM = 10.0, 15.0


def read_edge(
    rng: np.random.Generator,
    face: Face,
    shape: Shape,
    *,
    diagonals: bool,
    leaves: bool,
    turned: bool = False,
) -> list[ReadingSet]:
    """Read all lines with one edge, once more with it turned where asked."""
    length, width = face.length_mm, face.width_mm
    lines = [
        ((0, 0), (length, 0), 5),
        ((0, width), (length, width), 5),
        ((0, width / 2), (length, width / 2), 5),
        ((0, 0), (0, width), 3),
        ((length / 2, 0), (length / 2, width), 3),
        ((length, 0), (length, width), 3),
    ]
    if diagonals:
        lines += [((0, 0), (length, width), 5), ((0, width), (length, 0), 5)]
    bow, snake = rng.normal(0, EDGE_UM / 4, 2)
    sets = []
    for half in (False, True) if turned else (False,):
        rows = []
        for number, (start, stop, n) in enumerate(lines):
            f = np.linspace(0, 1, n)
            along = start[0] + f * (stop[0] - start[0])
            across = start[1] + f * (stop[1] - start[1])
            reach = np.hypot(stop[0] - start[0], stop[1] - start[1]) / length
            t = (2 * f - 1) * reach * (-1 if half else 1)
            own = bow * t**2 + snake * t**3
            level = rng.normal(0, 20) + rng.normal(0, 20) * f
            gap = 500 + level - own - shape(along, across)
            gap = gap + max(0.0, 20 - float(gap.min()))
            rows += [
                _edge_reading(rng, str(number), a, c, g, leaves=leaves)
                for a, c, g in zip(along, across, gap, strict=True)
            ]
        sets.append(
            ReadingSet(
                source="study", method="straightedge", face=face, unit="um",
                readings=tuple(rows), step_um=5.0, repeatability_um=5.0,
                reference_flatness_um=EDGE_UM, turned="half" if half else None,
            )
        )  # fmt: skip
    return sets


def _edge_reading(
    rng: np.random.Generator,
    name: str,
    along: float,
    across: float,
    gap: float,
    *,
    leaves: bool,
) -> EdgeReading:
    goes, stops, measured = 0.0, None, None
    if leaves:
        seen = gap + rng.uniform(-5, 5)
        goes = float(np.floor(seen / 10) * 10)
        stops = goes + 10
    else:
        measured = float(round((gap + rng.normal(0, 5)) / 5) * 5)
        goes = measured
    return EdgeReading(
        line_name=name,
        along_mm=float(round(along, 6)),
        across_mm=float(round(across, 6)),
        gap_um=measured,
        goes_um=goes,
        stops_um=stops,
        goes_leaves=1,
        stops_leaves=1,
        seat="1",
        entered_as="",
        line=1,
    )


def read_mixed(rng: np.random.Generator, face: Face, shape: Shape) -> list[ReadingSet]:
    """Read one face with dial, leaves and sticks over plates that are not flat."""
    dial = read_dial(
        rng, face, _over_plate(rng, face, shape, 1.0), Cell("dial", 7, 3, 2)
    )
    leaves = read_feeler(
        rng, face, _over_plate(rng, face, shape, 1.0), Cell("feeler", 5, 3)
    )
    ends = np.array([10.0, face.length_mm - 10])
    slope = [
        float(np.diff(shape(np.full(2, a), np.array([0, face.width_mm])))[0])
        for a in ends
    ]
    stick = 500.0
    gap = (slope[1] - slope[0]) * stick / face.width_mm + rng.normal(0, 30)
    seen = round(gap / 50) * 50
    sticks = ReadingSet(
        source="study",
        method="winding",
        face=face,
        unit="um",
        step_um=50.0,
        readings=(
            WindingReading(
                along_1_mm=float(ends[0]),
                along_2_mm=float(ends[1]),
                stick_mm=stick,
                gap_um=float(abs(seen)),
                high="none" if seen == 0 else "right" if seen > 0 else "left",
                entered_as="",
                line=1,
            ),
        ),
    )
    return [_stated(dial), _stated(leaves), sticks]


def _stated(readings: ReadingSet) -> ReadingSet:
    return replace(readings, reference_flatness_um=PLATE_UM)


def _over_plate(
    rng: np.random.Generator, face: Face, shape: Shape, sign: float
) -> Shape:
    one, two, wind = sign * rng.normal(0, PLATE_UM / 4, 3)

    def seen(along: Array, across: Array) -> Array:
        a = 2 * along / face.length_mm - 1
        c = 2 * across / face.width_mm - 1
        return shape(along, across) + one * a**2 + two * c**2 + wind * a * c

    return seen


CELLS: dict[str, Reader] = {
    "edge, leaves, diagonals": partial(read_edge, diagonals=True, leaves=True),
    "edge, gaps to 5 µm, diagonals": partial(read_edge, diagonals=True, leaves=False),
    "edge, leaves, diagonals, turned": partial(
        read_edge, diagonals=True, leaves=True, turned=True
    ),
    "dial, leaves and sticks, plates not flat": read_mixed,
    "edge, leaves, no diagonals": partial(read_edge, diagonals=False, leaves=True),
}


def one_face(name: str, seed: int) -> Outcome:
    """Draw, read and answer one face; no upper limit counts as infinite."""
    rng = np.random.default_rng([seed, 1000 + list(CELLS).index(name)])
    face, shape = draw_face(rng, flat=False)
    found = answer(CELLS[name](rng, face, shape)).likely
    fine = metal_grid(face, 1500)
    true = minimum_zone(
        fine.along_mm, fine.across_mm, shape(fine.along_mm, fine.across_mm)
    )
    low, high = found.interval_um
    return Outcome(
        true.width_um,
        np.inf if found.likely_um is None else found.likely_um,
        low,
        np.inf if high is None else high,
    )


def main() -> None:
    """Print the second table of docs/coverage.md."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faces", type=int, default=400)
    args = parser.parse_args()
    print("| how it was read | faces | held | too low | too high | width / true |")
    print("| --- | --- | --- | --- | --- | --- |")
    pooled: list[Outcome] = []
    for name in CELLS:
        with ProcessPoolExecutor() as pool:
            found = list(pool.map(partial(one_face, name), range(args.faces)))
        print(row(name, found), flush=True)
        if all(np.isfinite(o.high_um) for o in found):
            pooled += found
    print(row("all of these in which twist is seen", pooled))


if __name__ == "__main__":
    main()
