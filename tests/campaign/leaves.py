"""Leaves that are not what is stamped on them, and the hand that feels for a fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FEEL_UM = 1.5
"""Standard deviation of what counts as going in; a guess."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaves:
    """A set of leaves: what is stamped and what they are, and the stacks of two."""

    stamped_um: tuple[int, ...]
    real_um: tuple[float, ...]

    def stacks(self) -> list[tuple[float, float, str]]:
        """Give stamped size, real size and how it is written, thin to thick."""
        single = [
            (float(s), r, str(s))
            for s, r in zip(self.stamped_um, self.real_um, strict=True)
        ]
        thin = [one for one in single if one[0] <= 50]
        pairs = [
            (a[0] + b[0], a[1] + b[1], f"{a[2]}+{b[2]}")
            for a in single
            if a[0] >= 100
            for b in thin
        ]
        # A person takes the fewest leaves for a size.
        best: dict[float, tuple[float, float, str]] = {}
        for one in [*single, *pairs]:
            best.setdefault(one[0], one)
        return [best[size] for size in sorted(best)]

    def try_gap(self, gap_um: float, rng: np.random.Generator) -> tuple[str, str]:
        """Give what goes and what stops as a person writes them; stops may be blank."""
        felt = gap_um + rng.normal(0, FEEL_UM)
        stacks = self.stacks()
        goes = [at for at, one in enumerate(stacks) if one[1] <= felt]
        if not goes:
            return "0", stacks[0][2]
        # The thickest that goes, and the next one tried, which does not.
        last = goes[-1]
        higher = [one for one in stacks[last + 1 :] if one[1] > felt]
        return stacks[last][2], higher[0][2] if higher else ""


STAMPED = (20, 30, 40, 50, 60, 70, 80, 90, 100, 150, 200, 250, 300, 400, 500, 600)
"""Sizes of a common set, µm; common practice, no source."""


def make_leaves(rng: np.random.Generator, error_um: float = 4.0) -> Leaves:
    """Make a set whose leaves are off by up to a few micrometres."""
    return Leaves(
        stamped_um=STAMPED,
        real_um=tuple(s + float(rng.uniform(-error_um, error_um)) for s in STAMPED),
    )
