"""Samples read along lines, by sticks, by level, over a lap, and by square."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

from tests.reference.invented import (
    Dial,
    Place,
    Truth,
    document,
    formed,
    lattice,
    normal,
    plain,
    rows,
)

YARROW = formed(450, 64, 22, 220, 2)
"""Crowned a little along, and twisted so that no line along or across shows it."""
TABLE = formed(900, 300, -105, 30, 2)
BRACKEN_LAPPED = formed(560, 72, 41, 0, 2)
"""What a hollow table makes of a sole: the table's bow turned over and shortened."""
TABLE_AT = (170.0, 114.0)
EDGE_BOW_UM, EDGE_SNAKE_UM, EDGE_MM = 2.0, 6.0, 500.0
STANDS_ON_UM = 100.0
INSIDE_MM = 10.0
"""The two leaves lie this far in from the first and the last station of a line."""

ALONG, ACROSS = (10, 120, 225, 330, 440), (4, 32, 60)
Line = tuple[str, list[Place]]


def pattern(*, diagonals: bool) -> list[Line]:
    """Give the lines of the recommended pattern, with stations where they cross."""
    lines: list[Line] = [
        (name, [(a, c) for a in ALONG])
        for name, c in zip(("left edge", "centre", "right edge"), ACROSS, strict=True)
    ]
    lines += [
        (name, [(a, c) for c in ACROSS])
        for name, a in zip(("toe", "middle", "heel"), ALONG[::2], strict=True)
    ]
    if diagonals:
        slope = (ACROSS[2] - ACROSS[0]) / (ALONG[4] - ALONG[0])
        rise = [round(slope * (a - ALONG[0])) for a in ALONG]
        for name, start, sign in (
            ("toe left to heel right", ACROSS[0], 1),
            ("toe right to heel left", ACROSS[2], -1),
        ):
            across = [start + sign * r for r in rise]
            lines.append((name, list(zip(ALONG, across, strict=True))))
    return lines


def gaps_um(face: Truth, stations: Sequence[Place], *, turned: bool) -> Iterator[float]:
    """Give the true gaps under an edge that stands on two equal leaves on a line."""
    (a0, c0), (a1, c1) = stations[0], stations[-1]
    span = math.dist(stations[0], stations[-1])
    way = ((a1 - a0) / span, (c1 - c0) / span)

    def edge(t: float) -> float:
        u = (t - span / 2) / (EDGE_MM / 2) * (-1 if turned else 1)
        return EDGE_BOW_UM * u**2 + EDGE_SNAKE_UM * u**3

    def sole(t: float) -> float:
        return face.height_um(a0 + t * way[0], c0 + t * way[1])

    near, far = INSIDE_MM, span - INSIDE_MM
    first, last = (sole(t) + STANDS_ON_UM - edge(t) for t in (near, far))
    for place in stations:
        t = math.dist(stations[0], place)
        level = first + (last - first) * (t - near) / (far - near)
        yield level + edge(t) - sole(t)


EDGE_LEAVES_UM = (20, 30, 40, 50, 60, 70, 80, 90, 100, 150, 200)


def leaves_tried(gap_um: float) -> tuple[str, str]:
    """Give the thickest leaf or pair that goes and the thinnest that stops, in mm."""
    tried: dict[int, tuple[int, ...]] = {leaf: (leaf,) for leaf in EDGE_LEAVES_UM}
    for pair in combinations(EDGE_LEAVES_UM, 2):
        tried.setdefault(sum(pair), pair)
    goes = max((size for size in tried if size < gap_um), default=0)
    stops = min(size for size in tried if size >= gap_um)
    goes_mm, stops_mm = (
        "+".join(plain(leaf / 1000, 3) for leaf in tried.get(size, (0,)))
        for size in (goes, stops)
    )
    return goes_mm, stops_mm


def edge_file(
    remark: str, *, seed: int, diagonals: bool = True, turned: bool = False
) -> str:
    """Give a file of gaps under a straightedge along the lines of the pattern."""
    chance = random.Random(seed)
    table = ["line,along,across,goes,stops"]
    for name, stations in pattern(diagonals=diagonals):
        for (a, c), gap in zip(
            stations, gaps_um(YARROW, stations, turned=turned), strict=True
        ):
            goes, stops = leaves_tried(gap + 2 * normal(chance))
            table.append(f"{name},{plain(a)},{plain(c)},{goes},{stops}")
    return document(
        ("Yarrow, the fore plane; the wash-house workshop", remark),
        (
            "method: straightedge",
            *YARROW_HEADER,
            "unit: mm",
            "stands_on: 0.1 mm",
            "leaves: " + ", ".join(plain(leaf / 1000, 3) for leaf in EDGE_LEAVES_UM),
            "leaf_tolerance: 3 um",
            "reference_flatness: 10 um",
            *(("turned: half",) if turned else ()),
        ),
        table,
    )


YARROW_HEADER = (
    "face: sole",
    "length: 450 mm",
    "width: 64 mm",
    "mouth: 130 mm to 136 mm, across 6 mm to 58 mm",
)


def yarrow_no_diagonals() -> str:
    """Give lines along and across only: each looks good, and none sees twist."""
    return edge_file("lines along and across only", seed=21, diagonals=False)


def yarrow_edge() -> str:
    """Give the whole pattern, both diagonals in it."""
    return edge_file("the whole pattern, with both diagonals", seed=22)


def yarrow_edge_turned() -> str:
    """Give the whole pattern again with the edge turned end for end."""
    return edge_file(
        "the whole pattern again, the edge turned end for end", seed=23, turned=True
    )


def yarrow_sticks() -> str:
    """Give three sightings over winding sticks, to a quarter of a millimetre."""
    chance = random.Random(24)
    stick, step = 600.0, 0.25
    table = ["along_1,along_2,stick,gap,high"]
    for one, two in ((430, 20), (430, 20), (430, 120)):
        lean = [YARROW.height_um(a, 64) - YARROW.height_um(a, 0) for a in (one, two)]
        seen = (lean[1] - lean[0]) * stick / 64 / 1000 + 0.15 * normal(chance)
        gap = round(seen / step) * step
        high = "none" if gap == 0 else "right" if gap > 0 else "left"
        table.append(f"{one},{two},{plain(stick)},{plain(abs(gap), 2)},{high}")
    return document(
        ("Yarrow again, winding sticks; sighted from the heel over the near one",),
        ("method: winding", *YARROW_HEADER, "unit: mm", "repeatability: 0.2 mm"),
        table,
    )


def planer_table() -> str:
    """Give the slopes of a planer's table, the level's feet 100 mm apart."""
    chance = random.Random(25)
    along, across = tuple(range(50, 851, 100)), (50, 150, 250)
    lines: list[Line] = [
        (name, [(a, c) for a in along])
        for name, c in zip(("near edge", "centre", "far edge"), across, strict=True)
    ]
    lines += [
        (name, [(a, c) for c in across])
        for name, a in zip(("left end", "middle", "right end"), along[::4], strict=True)
    ]
    table = ["line,along_1,across_1,along_2,across_2,slope"]
    for name, stations in lines:
        for one, two in pairwise(stations):
            rise = TABLE.height_um(*two) - TABLE.height_um(*one)
            slope = rise / math.dist(one, two) * 1000 + 140 + 4 * normal(chance)
            places = f"{plain(one[0])},{plain(one[1])},{plain(two[0])},{plain(two[1])}"
            table.append(f"{name},{places},{5 * round(slope / 5)}")
    return document(
        (
            "the planer's table that the wash-house workshop laps on, unplugged",
            "a level with feet 100 mm apart; the machine was not moved meanwhile",
        ),
        (
            "method: level",
            "face: lap",
            "length: 900 mm",
            "width: 300 mm",
            "unit: um/m",
            "datum: gravity",
            "repeatability: 5 um/m",
        ),
        table,
    )


def bracken_on_table() -> str:
    """Give the jointer lapped on that table and read by a dial that rides on it."""

    def seen(along: float, across: float) -> float:
        under = TABLE.height_um(TABLE_AT[0] + along, TABLE_AT[1] + across)
        return BRACKEN_LAPPED.height_um(along, across) - under

    places = lattice((8, 95, 179, 209, 300, 380, 460, 552), (5, 36, 67))
    dial = Dial(step_um=2, noise_um=2, tilt_um=(25, 10))
    readings = dial.read(
        Truth(length_mm=560, width_mm=72, height_um=seen), places, random.Random(26)
    )
    return document(
        (
            "Bracken, the jointer, after lapping; dial on the planer's table",
            "toe towards the left end of the table",
        ),
        (
            "method: dial",
            "face: sole",
            "length: 560 mm",
            "width: 72 mm",
            "mouth: 191 mm to 197 mm, across 8 mm to 64 mm",
            "unit: um",
            "sense: high-positive",
            "repeatability: 2 um",
            f"reference_at: {TABLE_AT[0]:g} mm, {TABLE_AT[1]:g} mm",
        ),
        rows(places, [str(2 * n) for n in readings]),
    )


SQUARE_UM = -55.0
"""How far Bramble's cheek leans over its sole, over its height: under 90 degrees."""


def bramble_square() -> str:
    """Give gaps between a square's blade and a cheek, the stock on the sole."""
    chance = random.Random(27)
    table = ["along,gap,side"]
    for along in (15, 60, 105, 150, 185):
        off = SQUARE_UM + 8 * (2 * along / 200 - 1) + 4 * normal(chance)
        gap = 5 * round(off / 5)
        table.append(f"{along},{abs(gap)},{'sole' if gap > 0 else 'top'}")
    return document(
        ("Bramble, the same cheek; stock on the sole, leaves at the blade's ends",),
        (
            "method: square",
            "face: side",
            "left_edge: sole",
            "length: 200 mm",
            "width: 42 mm",
            "unit: um",
            "resolution: 5 um",
            "reference_flatness: 6 um",
        ),
        table,
    )
