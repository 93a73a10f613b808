"""How often one slipped reading is pointed out, and how often a true one.

    python -m tests.slip_study             # the table of docs/coverage.md, some minutes
    python -m tests.slip_study --faces 40  # a quick look

The faces are those of tests.coverage_study, one in eight of them nearly flat. Each is
read once as it is and once more with a slip: one reading, any that is not 0, is typed
ten times too large, or two neighbouring digits of it change places. A dial is set to 0
at its first place, on a face tilted by 5 µm in 250 mm; the level stands on lines along
and across.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from lapping.face import Face
from lapping.methods.take import take_each
from lapping.readings import DialReading, LevelReading, ReadingSet
from lapping.surface.left_out import odd_reading
from lapping.surface.posterior import infer_surface
from tests.coverage_study import Cell, Shape, draw_face, read_dial

Reader = Callable[[np.random.Generator, Face, Shape], ReadingSet]
DRAWS = 2
"""Surfaces drawn: the test for a slip needs none."""
FLAT_EVERY = 8
TILT, STUDY_TILT = 0.02, 0.2
"""µm per mm; the coverage study's dial reads a face that is tilted more."""


def dial(cell: Cell, rng: np.random.Generator, face: Face, shape: Shape) -> ReadingSet:
    """Read a grid by a dial that shows 0 at the first place."""
    readings = read_dial(rng, face, shape, cell)
    rows = [r for r in readings.readings if isinstance(r, DialReading)]
    level = [r.value_um - (STUDY_TILT - TILT) * r.along_mm for r in rows]
    step = readings.step_um
    return replace(
        readings,
        readings=tuple(
            replace(r, value_um=float(round((v - level[0]) / step) * step))
            for r, v in zip(rows, level, strict=True)
        ),
    )


def level(rng: np.random.Generator, face: Face, shape: Shape) -> ReadingSet:
    """Read slopes to 5 µm/m along both edges and the centre, and across three lines."""
    length, width = face.length_mm, face.width_mm
    lines = [((0, c), (length, c), 6) for c in (0, width / 2, width)]
    lines += [((a, 0), (a, width), 3) for a in (0, length / 2, length)]
    rows = []
    for number, (start, stop, n) in enumerate(lines):
        along, across = np.linspace(start, stop, n).T.round(6)
        rise = np.diff(shape(along, across))
        apart = np.hypot(np.diff(along), np.diff(across)) / 1000
        slope = rise / apart + 300 + rng.normal(0, 5, n - 1)
        rows += [
            LevelReading(
                line_name=str(number),
                along_1_mm=float(along[i]),
                across_1_mm=float(across[i]),
                along_2_mm=float(along[i + 1]),
                across_2_mm=float(across[i + 1]),
                slope_um_per_m=float(round(slope[i] / 5) * 5),
                entered_as="",
                line=1,
            )
            for i in range(n - 1)
        ]
    return ReadingSet(
        source="study", method="level", face=face, unit="um/m", readings=tuple(rows),
        step_um=5.0, repeatability_um=5.0, datum="gravity",
    )  # fmt: skip


READERS: dict[str, Reader] = {
    f"dial {n}x{m} u={noise:g}": partial(dial, Cell("dial", n, m, noise, stated))
    for n, m in ((5, 3), (7, 3), (9, 3), (7, 4))
    for noise, stated in ((1, True), (2, False), (5, True))
} | {"level, lines along and across": level}


@dataclass(frozen=True)
class Outcome:
    """What was pointed out: in true readings, at a reading ten times, at one swapped.

    None where there was no such slip to make.
    """

    wrongly: bool
    ten: bool | None
    swapped: bool | None


def one_face(name: str, seed: int) -> Outcome:
    """Draw and read one face, and slip twice."""
    rng = np.random.default_rng([seed, list(READERS).index(name), 5])
    face, shape = draw_face(rng, flat=seed % FLAT_EVERY == 0)
    readings = READERS[name](rng, face, shape)
    typed = [_typed(r) for r in readings.readings]
    wrongly = _pointed_out(readings) is not None
    found = []
    for slip in (_ten_times, _swapped):
        may = [k for k, v in enumerate(typed) if slip(v) != v]
        if not may:
            found.append(None)
            continue
        k = int(rng.choice(may))
        rows = list(readings.readings)
        rows[k] = _with(rows[k], slip(typed[k]))
        slipped = replace(readings, readings=tuple(rows))
        found.append(_pointed_out(slipped) == k)
    return Outcome(wrongly, *found)


def _pointed_out(readings: ReadingSet) -> int | None:
    (taken,) = take_each([readings])
    obs = taken.observations
    found = infer_surface(readings.face, obs, draws=DRAWS).left_out
    assert found is not None
    odd = odd_reading(readings.face, obs, found)
    return None if odd is None else odd.row


def _typed(reading: object) -> float:
    match reading:
        case DialReading(value_um=value):
            return value
        case LevelReading(slope_um_per_m=value):
            return value
        case _:
            raise AssertionError


def _with(reading: object, value: float) -> object:
    match reading:
        case DialReading():
            return replace(reading, value_um=value)
        case LevelReading():
            return replace(reading, slope_um_per_m=value)
        case _:
            raise AssertionError


def _ten_times(value: float) -> float:
    return 10 * value


def _swapped(value: float) -> float:
    """Change the first two digits that differ, as 25 into 52; units are whole."""
    digits = str(abs(round(value)))
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            other = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
            return float(other) if value > 0 else -float(other)
    return value


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faces", type=int, default=400)
    parser.add_argument("--only", default="")
    args = parser.parse_args()
    print("| how it was read | faces | wrongly | ten times | two digits swapped |")
    print("| --- | --- | --- | --- | --- |")
    every: list[Outcome] = []
    for name in READERS:
        if args.only not in name:
            continue
        with ProcessPoolExecutor() as pool:
            found = list(pool.map(partial(one_face, name), range(args.faces)))
        print(row(name, found), flush=True)
        if name.startswith("dial"):
            every += found
    print(row("all dial", every))


def row(name: str, found: list[Outcome]) -> str:
    """Give one line of the table."""
    wrongly = np.mean([o.wrongly for o in found])
    ten = np.mean([o.ten for o in found if o.ten is not None])
    swapped = np.mean([o.swapped for o in found if o.swapped is not None])
    return f"| {name} | {len(found)} | {wrongly:.1%} | {ten:.1%} | {swapped:.1%} |"


if __name__ == "__main__":
    main()
