"""Figures of the benchmark: timed in turn, told beside their goals in one table.

A benchmark is a module `bench_NAME` here with a function `measure` that gives figures;
`python -m tests.benchmarks` runs them all. Times are ratios to something that cannot be
done without, taken in the same run, because machines differ.
"""

from __future__ import annotations

import gc
import os
import subprocess
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from time import perf_counter

Clock = Callable[[], float]
Work = Callable[[], object]
HEAD = "| what | measured | goal | | what bounds it |\n| --- | --- | --- | --- | --- |"


@dataclass(frozen=True, kw_only=True)
class Figure:
    """One measured figure, its goal, and what keeps it from being better."""

    what: str
    value: float
    goal: float
    at_most: bool = True
    unit: str = ""
    bound: str = ""

    @property
    def met(self) -> bool:
        """Tell whether the goal is met."""
        return self.value <= self.goal if self.at_most else self.value >= self.goal

    def row(self) -> str:
        """Give the figure as a row of the table."""
        sign = "≤" if self.at_most else "≥"
        met = "met" if self.met else "**missed**"
        unit = f" {self.unit}" if self.unit else ""
        return (
            f"| {self.what} | {_round(self.value)}{unit} "
            f"| {sign} {_round(self.goal)}{unit} | {met} | {self.bound} |"
        )


def tell(figures: Iterable[Figure]) -> None:
    """Print a table of figures."""
    print(HEAD)
    for figure in figures:
        print(figure.row(), flush=True)


def in_turn(
    works: Mapping[str, Work], rounds: int, *, clock: Clock = perf_counter
) -> dict[str, float]:
    """Time each piece of work in turn, and give the least seconds of each.

    What is compared takes turns and the best counts, so that other work on the
    machine matters little.
    """
    times = dict.fromkeys(works, float("inf"))
    collects = gc.isenabled()
    gc.disable()
    for _ in range(rounds):
        for name, work in works.items():
            start = clock()
            work()
            times[name] = min(times[name], clock() - start)
        gc.collect()
    if collects:
        gc.enable()
    return times


def command(words: Sequence[str], env: Mapping[str, str] | None = None) -> Work:
    """Give work that runs a command and wants it to answer."""
    return lambda: subprocess.run(words, check=True, capture_output=True, env=env)


def _round(value: float) -> str:
    return f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"


def of_children() -> float:
    """Give the processor time of commands that have ended; a clock for `in_turn`."""
    times = os.times()
    return times.children_user + times.children_system
