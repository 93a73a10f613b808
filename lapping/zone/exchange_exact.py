"""The same exchange in whole numbers, for sets on which rounding stands in the way.

Values are first rounded to a fixed fine step, far below what a certificate shows;
from there on nothing is rounded, so ties are seen as ties and the rule of R. G. Bland
(1977, Mathematics of Operations Research 2, 103-107) brings every run to its end.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from lapping.zone.exchange import STOP, Member, wide_triangle

STEPS = 2**56
"""Steps into which the largest coordinate and the largest value are cut."""
FINEST_STEP = 2.0**-960
"""Values that need finer steps are level: what is past it has no reciprocal."""
BOLD = 100
"""Exchanges that take in the worst value; later ones take the first, and end."""

Row = tuple[int, int, int, int]


def exchange_exactly(
    candidates: Sequence[Member],
) -> tuple[list[Member], list[float], tuple[float, float, float, float]]:
    """Give the four members that hold the planes apart, their weights, and the planes.

    The weights of each side sum to 1. The planes are level, slope_u, slope_v and half
    the distance, which is at least 0. The candidates must not all lie on one line.
    """
    far = max(max(abs(m.u), abs(m.v)) for m in candidates)
    steep = max(abs(m.value) for m in candidates)
    per_place = STEPS / far
    per_value = 1.0 / max(steep / STEPS, FINEST_STEP)
    rows: list[Row] = []
    sides: list[int] = []
    for member in candidates:
        side = int(member.side)
        u, v = round(member.u * per_place), round(member.v * per_place)
        rows.append((side, side * u, side * v, 1))
        sides.append(side * round(member.value * per_value))
    rows.append((0, 0, 0, 1))
    sides.append(0)
    stop = len(candidates)
    basis = [candidates.index(m) for m in wide_triangle(candidates)]
    basis.append(stop)
    for count in itertools.count():
        inverse, scale = _inverse([rows[j] for j in basis])
        plane = [
            sum(inverse[k][j] * sides[basis[j]] for j in range(4)) for k in range(4)
        ]
        enters, worst = -1, 0
        for place, (row, side) in enumerate(zip(rows, sides, strict=True)):
            outside = side * scale - sum(r * p for r, p in zip(row, plane, strict=True))
            if outside > worst:
                enters, worst = place, outside
                if count > BOLD:
                    break
        if enters < 0:
            break
        basis[_leaves(inverse, basis, rows[enters])] = enters
    level, slope_u, slope_v, half = (p / scale for p in plane)
    members = [STOP if j == stop else candidates[j] for j in basis]
    weights = [2 * inverse[3][j] / scale for j in range(4)]
    step = 1.0 / per_value
    tilt = per_place / per_value
    return members, weights, (level * step, slope_u * tilt, slope_v * tilt, half * step)


def _leaves(inverse: list[list[int]], basis: list[int], row: Row) -> int:
    """Pick who leaves: the least ratio of weight to pull, then the first place."""
    best, best_weight, best_pull = -1, 0, 1
    for j in range(4):
        pull = sum(row[k] * inverse[k][j] for k in range(4))
        if pull <= 0:
            continue
        weight = inverse[3][j]
        less = weight * best_pull - best_weight * pull
        if best < 0 or less < 0 or (less == 0 and basis[j] < basis[best]):
            best, best_weight, best_pull = j, weight, pull
    return best


def _inverse(rows: list[Row]) -> tuple[list[list[int]], int]:
    """Give a whole-number matrix and a scale > 0 whose ratio is the inverse."""
    adjugate = [[0] * 4 for _ in range(4)]
    for i in range(4):
        a, b, c = (rows[k] for k in range(4) if k != i)
        for j in range(4):
            p, q, r = (k for k in range(4) if k != j)
            minor = (
                a[p] * (b[q] * c[r] - b[r] * c[q])
                - a[q] * (b[p] * c[r] - b[r] * c[p])
                + a[r] * (b[p] * c[q] - b[q] * c[p])
            )
            adjugate[j][i] = minor if (i + j) % 2 == 0 else -minor
    scale = sum(rows[0][j] * adjugate[j][0] for j in range(4))
    if scale < 0:
        return [[-x for x in line] for line in adjugate], -scale
    return adjugate, scale
