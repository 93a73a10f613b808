"""How long strokes on a lap take to work out, and what makes up that time.

A face of 60 × 20 cells with all that a second degree has, rough as a sawn one, gets a
thousand strokes: pressed in the middle, with a hand that swings (16 moments a stroke),
and over the end of a lap that is not flat. Beside the time stand the pressings worked
out (Newton's method in three unknowns, for all moments at once) and how far the
heights are from those of very small steps.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from lapping.face import Face
from lapping.wear.lap_contact import cells_of
from lapping.wear.lap_model import TOLERANCE_UM, Rubbed, Sheet, rub
from lapping.wear.lap_strokes import LapSurface, Rubbing, bowed_lap
from tests.benchmarks.ratios import Figure, in_turn, tell

ROUNDS = 7
CELLS = cells_of(Face(length_mm=250, width_mm=60), 60, 20)
SHEET = Sheet(stiffness_mpa_per_um=1e-3, preston_per_mpa=1e-5)
STROKES = 1000


def measure() -> Iterator[Figure]:
    """Time each case, and tell how far it is from very small steps."""
    terms = CELLS.terms
    a, c = terms[:, 1], terms[:, 2]
    rng = np.random.default_rng(1)
    height = 80 * a**2 - 20 * c**2 + 25 * a * c + rng.normal(size=len(CELLS)) * 10
    middle = Rubbing(load_n=40, stroke_mm=250)
    swung = Rubbing(load_n=40, stroke_mm=250, swing_along_mm=50)
    cases: list[tuple[str, Rubbing, LapSurface | None, float]] = [
        ("pressed in the middle", middle, None, 0.15),
        ("a hand that swings", swung, None, 2.5),
        ("a bowed lap, ends over", swung, bowed_lap(400, 200, along_bow_um=20), 2.5),
    ]
    for name, rubbing, lap, allowed_s in cases:

        def work(
            rubbing: Rubbing = rubbing,
            lap: LapSurface | None = lap,
            tolerance_um: float = TOLERANCE_UM,
        ) -> Rubbed:
            return rub(
                CELLS,
                height,
                rubbing,
                SHEET,
                STROKES,
                lap=lap,
                tolerance_um=tolerance_um,
            )

        found = work()
        seconds = in_turn({name: work}, ROUNDS)[name]
        off = np.abs(found.height_um - work(tolerance_um=1e-5).height_um).max()
        each_ms = seconds / found.pressings * 1e3
        yield Figure(
            what=f"1000 strokes of 60 × 20 cells, {name}",
            value=seconds,
            goal=allowed_s,
            unit="s",
            bound=f"{found.pressings} pressings of {each_ms:.2f} ms; "
            f"off by {off:.4f} µm",
        )


if __name__ == "__main__":
    tell(measure())
