"""How often the 95 % interval for the flatness of the whole face holds the truth.

Faces are drawn from the population stated below, read through a simulated gauge, and
answered by the same code as `lapping check`. Run all of it with

    python -m tests.coverage_study            # 400 faces a cell, some minutes
    python -m tests.coverage_study --faces 40 # a quick look

Population (invented, so that no real face is claimed; wider than the program's own
prior is told): soles 150 to 450 mm long and 40 to 75 mm wide; along-bow, across-bow
and twist normal with standard deviations 40, 15 and 40 µm; up to five round bumps or
dips of either sign, 6 to 40 mm in radius (one standard deviation of a Gaussian) and
15 µm high (standard deviation), anywhere, so that many fall between readings; a ripple
of 0 to 6 µm and 30 to 120 mm long in any direction. All heights are multiplied by a
severity, log-uniform from 0.3 to 3; "nearly flat" faces by 0.01 to 0.05 instead.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from lapping.answer import answer
from lapping.face import Face
from lapping.grid import metal_grid
from lapping.readings import DialReading, FeelerReading, ReadingSet
from lapping.resting import support_under
from lapping.zone.minimum_zone import minimum_zone

Array = NDArray[np.float64]
Shape = Callable[[Array, Array], Array]
LEAVES = (30, 40, 50, 60, 70, 80, 100, 150, 200, 250, 300, 350, 400, 450, 500, 600,
          700, 800, 900, 1000)  # fmt: skip
"""A common set of leaves, µm; common practice, no source."""


@dataclass(frozen=True)
class Cell:
    """One way of reading faces."""

    method: str
    along: int
    across: int
    noise_um: float = 0.0
    stated: bool = True
    flat: bool = False

    def __str__(self) -> str:
        """Name the cell in the table."""
        if self.method == "dial":
            how = "stated" if self.stated else "step only"
            name = f"dial {self.along}x{self.across} u={self.noise_um:g} {how}"
        else:
            name = f"feeler rim {self.along}x{self.across}"
        return name + (" nearly flat" if self.flat else "")


CELLS = (
    *(
        Cell("dial", n, m, noise, stated)
        for n, m in ((5, 3), (7, 3), (9, 5), (12, 5))
        for noise, stated in ((1, True), (2, False), (5, True))
    ),
    *(Cell("feeler", n, m) for n, m in ((5, 3), (7, 3), (9, 3))),
    *(Cell("dial", n, m, 2, flat=True) for n, m in ((5, 3), (9, 5))),
    Cell("feeler", 7, 3, flat=True),
)


def draw_face(rng: np.random.Generator, *, flat: bool) -> tuple[Face, Shape]:
    """Draw an outline and a surface from the population."""
    face = Face(length_mm=rng.uniform(150, 450), width_mm=rng.uniform(40, 75))
    severity = np.exp(rng.uniform(*np.log((0.01, 0.05) if flat else (0.3, 3.0))))
    bow, cross, wind = rng.normal(0, (40, 15, 40))
    bumps = [
        (
            rng.uniform(0, face.length_mm),
            rng.uniform(0, face.width_mm),
            np.exp(rng.uniform(np.log(6), np.log(40))),
            rng.normal(0, 15),
        )
        for _ in range(rng.integers(0, 6))
    ]
    ripple, wave, turn, phase = (
        rng.uniform(0, 6), rng.uniform(30, 120), *rng.uniform(0, 2 * np.pi, 2)
    )  # fmt: skip

    def shape(along: Array, across: Array) -> Array:
        a = 2 * along / face.length_mm - 1
        c = 2 * across / face.width_mm - 1
        z = -bow * a**2 - cross * c**2 + wind / 2 * a * c
        for x, y, radius, height in bumps:
            d2 = (along - x) ** 2 + (across - y) ** 2
            z = z + height * np.exp(-d2 / (2 * radius**2))
        way = along * np.cos(turn) + across * np.sin(turn)
        return severity * (z + ripple * np.sin(2 * np.pi * way / wave + phase))

    return face, shape


def read_dial(
    rng: np.random.Generator, face: Face, shape: Shape, cell: Cell
) -> ReadingSet:
    """Read a grid with an indicator that shows whole steps of its repeatability."""
    edge = 5.0
    step = max(1.0, cell.noise_um)
    rows = []
    for across in np.linspace(edge, face.width_mm - edge, cell.across):
        for along in np.linspace(edge, face.length_mm - edge, cell.along):
            true = float(shape(np.array(along), np.array(across)))
            seen = true + 0.2 * along + rng.normal(0, cell.noise_um)
            rows.append(
                DialReading(
                    along_mm=float(along),
                    across_mm=float(across),
                    value_um=float(round(seen / step) * step),
                    entered_as="",
                    line=1,
                )
            )
    return ReadingSet(
        source="study",
        method="dial",
        face=face,
        unit="um",
        readings=tuple(rows),
        step_um=step,
        sense="high-positive",
        repeatability_um=(
            float(np.hypot(cell.noise_um, step / 12**0.5)) if cell.stated else None
        ),
    )


def read_feeler(
    rng: np.random.Generator, face: Face, shape: Shape, cell: Cell
) -> ReadingSet:
    """Slide leaves, each with an error of its own, under a face resting on a plate."""
    grid = metal_grid(face, 1200)
    resting = support_under(
        grid.along_mm,
        grid.across_mm,
        shape(grid.along_mm, grid.across_mm),
        (face.length_mm / 2, face.width_mm / 2),
    )
    assert resting is not None
    rim = [
        (along, across)
        for across in np.linspace(0, face.width_mm, cell.across)
        for along in np.linspace(0, face.length_mm, cell.along)
        if face.at_rim(along, across)
    ]
    along, across = np.array(rim).T
    top = shape(grid.along_mm, grid.across_mm) + resting.gap_um
    terms = np.column_stack([np.ones_like(top), grid.along_mm, grid.across_mm])
    plane = np.linalg.lstsq(terms, top, rcond=None)[0]
    gap = plane[0] + plane[1] * along + plane[2] * across - shape(along, across)
    real = np.array(LEAVES) + rng.uniform(-5, 5, len(LEAVES))
    rows = []
    for x, y, g in zip(along, across, gap, strict=True):
        goes = int(np.sum(real <= g))
        rows.append(
            FeelerReading(
                along_mm=float(x),
                across_mm=float(y),
                goes_um=float(LEAVES[goes - 1]) if goes else 0.0,
                stops_um=float(LEAVES[goes]) if goes < len(LEAVES) else None,
                goes_leaves=min(goes, 1),
                stops_leaves=1,
                seat="1",
                entered_as="",
                line=1,
            )
        )
    return ReadingSet(
        source="study", method="feeler", face=face, unit="um",
        readings=tuple(rows), step_um=10.0, reference_flatness_um=0.0,
    )  # fmt: skip


@dataclass(frozen=True)
class Outcome:
    """One face: its true flatness and what the program answered."""

    true_um: float
    likely_um: float
    low_um: float
    high_um: float

    @property
    def held(self) -> bool:
        """Say whether the interval held the truth."""
        return self.low_um <= self.true_um <= self.high_um


def one_face(cell: Cell, seed: int) -> Outcome:
    """Draw, read and answer one face."""
    rng = np.random.default_rng([seed, CELLS.index(cell) if cell in CELLS else 99])
    face, shape = draw_face(rng, flat=cell.flat)
    read = read_dial if cell.method == "dial" else read_feeler
    readings = read(rng, face, shape, cell)
    likely = answer([readings]).likely
    fine = metal_grid(face, 1500)
    true = minimum_zone(
        fine.along_mm, fine.across_mm, shape(fine.along_mm, fine.across_mm)
    )
    low, high = likely.interval_um
    assert likely.likely_um is not None
    assert high is not None
    return Outcome(true.width_um, likely.likely_um, low, high)


def main() -> None:
    """Print the table of docs/coverage.md."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faces", type=int, default=400)
    parser.add_argument("--only", default="")
    args = parser.parse_args()
    print("| how it was read | faces | held | too low | too high | width / true |")
    print("| --- | --- | --- | --- | --- | --- |")
    pooled: dict[str, list[Outcome]] = {}
    for cell in CELLS:
        if args.only not in str(cell):
            continue
        with ProcessPoolExecutor() as pool:
            found = list(pool.map(partial(one_face, cell), range(args.faces)))
        print(row(str(cell), found), flush=True)
        if not cell.flat:
            pooled.setdefault(cell.method, []).extend(found)
    for method, found in pooled.items():
        print(row(f"all {method}, not nearly flat", found))


def row(name: str, found: list[Outcome]) -> str:
    """Give one line of the table."""
    n = len(found)
    held = sum(o.held for o in found) / n
    below = sum(o.true_um < o.low_um for o in found) / n
    above = sum(o.true_um > o.high_um for o in found) / n
    width = np.median([(o.high_um - o.low_um) / o.true_um for o in found])
    return f"| {name} | {n} | {held:.1%} | {above:.1%} | {below:.1%} | {width:.2f} |"


if __name__ == "__main__":
    main()
