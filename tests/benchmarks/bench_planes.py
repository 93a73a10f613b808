"""Speeds of planes and zones as ratios to general-purpose calls in the same run.

Run with ``python -m tests.benchmarks.bench_planes``. The two sides of a ratio take
turns, and the best time of each counts, so that other work on the machine matters
little.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from time import perf_counter, process_time

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from lapping.bracket import feeler_bracket
from lapping.minimum_zone import minimum_zone
from lapping.minimum_zone_many import minimum_zone_many

Column = NDArray[np.float64]
Work = Callable[[], object]


def best(
    works: list[Work], rounds: int, clock: Callable[[], float] = perf_counter
) -> list[float]:
    """Time each piece of work in turn; give the best seconds of each."""
    found = [float("inf")] * len(works)
    for _ in range(rounds):
        for which, work in enumerate(works):
            start = clock()
            work()
            found[which] = min(found[which], clock() - start)
    return found


def report(what: str, ratio: float, goal: float, *, at_most: bool) -> None:
    """Print one ratio beside its goal."""
    good = ratio <= goal if at_most else ratio >= goal
    sign = "<=" if at_most else ">="
    verdict = "pass" if good else "MISSED"
    print(f"{what:58s} {ratio:9.2f}  goal {sign} {goal:g}  {verdict}")


def sixty() -> tuple[Column, Column]:
    """Give 60 places: 12 stations along, 5 across."""
    along, across = np.meshgrid(np.linspace(5, 245, 12), np.linspace(4, 56, 5))
    return along.ravel(), across.ravel()


def by_linear_program(a: Column, height: Column) -> float:
    """Give half the zone by HiGHS."""
    one = np.ones((len(height), 1))
    rows = np.vstack((np.hstack((-a, -one)), np.hstack((a, -one))))
    answer = linprog(
        [0, 0, 0, 1],
        A_ub=rows,
        b_ub=np.concatenate((-height, height)),
        bounds=[(None, None)] * 4,
        method="highs",
    )
    return float(answer.fun)


def one_fit(rng: np.random.Generator) -> None:
    """Compare one exact fit at 60 places, and the bracket."""
    along, across = sixty()
    sets = [
        rng.normal(size=60) * 5 + share * (along - 125) ** 2 * 0.002
        for share in np.linspace(0, 2, 20)
    ]
    a = np.column_stack((np.ones(60), along, across))
    boxes = [(z - rng.choice([5, 20], 60), z + rng.choice([5, 20], 60)) for z in sets]
    least, zone, bracket, program = best(
        [
            lambda: [np.linalg.lstsq(a, z, rcond=None) for z in sets],
            lambda: [minimum_zone(along, across, z) for z in sets],
            lambda: [feeler_bracket(along, across, *box) for box in boxes],
            lambda: [by_linear_program(a, z) for z in sets[:2]],
        ],
        rounds=60,
    )
    program *= len(sets) / 2
    print(f"one exact fit at 60 places: {zone / len(sets) * 1e6:.1f} µs")
    report("exact zone, 60 places / numpy lstsq", zone / least, 6, at_most=True)
    report("HiGHS / exact zone, 60 places", program / zone, 12, at_most=False)
    report("feeler bracket / exact zone, 60 places", bracket / zone, 5, at_most=True)


def million(rng: np.random.Generator) -> None:
    """Compare one exact fit at a million places, and its memory."""
    n = 10**6
    along, across = rng.uniform(0, 250, n), rng.uniform(0, 60, n)
    height = rng.normal(size=n) + (along - 125) ** 2 * 1e-3

    def normal_equations() -> Column:
        a = np.column_stack((np.ones(n), along, across))
        answer: Column = np.linalg.solve(a.T @ a, a.T @ height)
        return answer

    def zone() -> object:
        return minimum_zone(along, across, height)

    plane, exact = best([normal_equations, zone], rounds=15)
    print(f"one exact fit at a million places: {exact * 1e3:.1f} ms")
    report("exact zone, 1e6 places / normal equations", exact / plane, 3, at_most=True)
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    tracemalloc.reset_peak()
    zone()
    peak = tracemalloc.get_traced_memory()[1] - before
    tracemalloc.stop()
    report("extra memory, 1e6 places / input", peak / (3 * 8 * n), 4, at_most=True)


def many_trials(rng: np.random.Generator) -> None:
    """Compare 100 000 trials at 60 places, and show 1000 smooth ones at 300."""
    along, across = sixty()
    trials = rng.normal(size=(100_000, 60)) * 5
    a = np.column_stack((np.ones(60), along, across))
    q = np.linalg.qr(a)[0]
    residual_maker = np.eye(60) - q @ q.T
    some = trials[:100]
    works: list[Work] = [
        lambda: trials @ residual_maker,
        lambda: minimum_zone_many(along, across, trials),
        lambda: [by_linear_program(a, z) for z in some],
    ]
    # The matrix product runs on all processors and fits into a quiet moment of a busy
    # machine; processor time compares the work itself.
    for clock, kind in ((perf_counter, "wall"), (process_time, "processor")):
        least, zones, program = best(works, rounds=9, clock=clock)
        program *= len(trials) / len(some)
        print(f"zones of 1e5 trials at 60 places: {zones * 1e3:.0f} ms {kind} time")
        what = f"zones, 1e5 x 60 / batched least squares, {kind}"
        report(what, zones / least, 10, at_most=True)
        what = f"HiGHS loop / zones, 1e5 x 60, {kind}"
        report(what, program / zones, 500, at_most=False)
    once = minimum_zone_many(along, across, trials)
    same = np.array_equal(once, minimum_zone_many(along, across, trials))
    print(f"same bits twice: {'pass' if same else 'MISSED'}")
    along, across = rng.uniform(0, 250, 300), rng.uniform(0, 60, 300)
    u, v = along / 125 - 1, across / 30 - 1
    shapes = np.array((u * u, v * v, u * v, u**3, np.sin(6 * u), np.cos(9 * u + 2 * v)))
    smooth = rng.normal(size=(1000, 6)) @ shapes * 10
    (seconds,) = best([lambda: minimum_zone_many(along, across, smooth)], rounds=9)
    report("zones, 1000 smooth x 300: ms", seconds * 1e3, 60, at_most=True)


if __name__ == "__main__":
    generator = np.random.default_rng(1)
    one_fit(generator)
    million(generator)
    many_trials(generator)
