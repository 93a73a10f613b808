"""Speeds of planes and zones as ratios to general-purpose calls in the same run."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator
from time import perf_counter, process_time

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from lapping.zone.bracket import feeler_bracket
from lapping.zone.minimum_zone import minimum_zone
from lapping.zone.minimum_zone_many import minimum_zone_many
from tests.benchmarks.ratios import Figure, in_turn, tell

Column = NDArray[np.float64]
Random = np.random.Generator


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


def one_fit(rng: Random) -> Iterator[Figure]:
    """Compare one exact fit at 60 places, and the bracket."""
    along, across = sixty()
    sets = [
        rng.normal(size=60) * 5 + share * (along - 125) ** 2 * 0.002
        for share in np.linspace(0, 2, 20)
    ]
    a = np.column_stack((np.ones(60), along, across))
    boxes = [(z - rng.choice([5, 20], 60), z + rng.choice([5, 20], 60)) for z in sets]
    times = in_turn(
        {
            "least": lambda: [np.linalg.lstsq(a, z, rcond=None) for z in sets],
            "zone": lambda: [minimum_zone(along, across, z) for z in sets],
            "bracket": lambda: [feeler_bracket(along, across, *box) for box in boxes],
            "program": lambda: [by_linear_program(a, z) for z in sets[:2]],
        },
        rounds=60,
    )
    zone = times["zone"]
    yield Figure(
        what="exact zone, 60 places / numpy lstsq",
        value=zone / times["least"],
        goal=6,
        bound=f"numpy's call overhead in few exchanges; {zone / 20 * 1e6:.0f} µs",
    )
    yield Figure(
        what="HiGHS / exact zone, 60 places",
        value=times["program"] * len(sets) / 2 / zone,
        goal=12,
        at_most=False,
        bound="setting up the linear program",
    )
    yield Figure(
        what="feeler bracket / exact zone, 60 places",
        value=times["bracket"] / zone,
        goal=5,
        bound="the same exchange with a bound for each place",
    )


def million(rng: Random) -> Iterator[Figure]:
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

    times = in_turn({"plane": normal_equations, "zone": zone}, rounds=15)
    yield Figure(
        what="exact zone, 1e6 places / normal equations",
        value=times["zone"] / times["plane"],
        goal=3,
        bound=f"passes over the data; {times['zone'] * 1e3:.0f} ms",
    )
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    tracemalloc.reset_peak()
    zone()
    peak = tracemalloc.get_traced_memory()[1] - before
    tracemalloc.stop()
    yield Figure(
        what="exact zone, 1e6 places: memory / the data",
        value=peak / (3 * 8 * n),
        goal=4,
        bound="residuals and one copy",
    )


def many_trials(rng: Random) -> Iterator[Figure]:
    """Compare 100 000 trials at 60 places, and time 1000 smooth ones at 300."""
    along, across = sixty()
    trials = rng.normal(size=(100_000, 60)) * 5
    a = np.column_stack((np.ones(60), along, across))
    q = np.linalg.qr(a)[0]
    residual_maker = np.eye(60) - q @ q.T
    some = trials[:100]
    works = {
        "least": lambda: trials @ residual_maker,
        "zones": lambda: minimum_zone_many(along, across, trials),
        "program": lambda: [by_linear_program(a, z) for z in some],
    }
    # The matrix product may run on all processors and fits into a quiet moment of a
    # busy machine; processor time compares the work itself.
    for clock, kind in ((perf_counter, "wall"), (process_time, "processor")):
        times = in_turn(works, rounds=9, clock=clock)
        zones = times["zones"]
        yield Figure(
            what=f"zones of 1e5 trials at 60 places / least squares, {kind} time",
            value=zones / times["least"],
            goal=10,
            bound=f"sorting trials by what still moves; {zones * 1e3:.0f} ms",
        )
        yield Figure(
            what=f"a loop of HiGHS / the same zones, {kind} time",
            value=times["program"] * len(trials) / len(some) / zones,
            goal=500,
            at_most=False,
            bound="setting up each linear program",
        )
    once = minimum_zone_many(along, across, trials)
    assert np.array_equal(once, minimum_zone_many(along, across, trials))
    along, across = rng.uniform(0, 250, 300), rng.uniform(0, 60, 300)
    u, v = along / 125 - 1, across / 30 - 1
    shapes = np.array((u * u, v * v, u * v, u**3, np.sin(6 * u), np.cos(9 * u + 2 * v)))
    smooth = rng.normal(size=(1000, 6)) @ shapes * 10
    times = in_turn(
        {"smooth": lambda: minimum_zone_many(along, across, smooth)}, rounds=9
    )
    yield Figure(
        what="zones of 1000 smooth surfaces at 300 places",
        value=times["smooth"] * 1e3,
        goal=60,
        unit="ms",
        bound="exchanges until the slowest surface is done",
    )


def measure() -> Iterator[Figure]:
    """Give all figures of planes and zones."""
    rng = np.random.default_rng(1)
    yield from one_fit(rng)
    yield from million(rng)
    yield from many_trials(rng)


if __name__ == "__main__":
    tell(measure())
