"""How large the grains of each grade of abrasive paper are, as the standards say.

Mean grain sizes in micrometres. Sources:

- P (FEPA 43-1, ISO 6344): sizes seen; tolerances, P240 and finer, from memory. P3000
  and P5000 are in ISO 6344-3:2021, but what size they are was not found.
- CAMI (ANSI B74.18): sizes seen. Printed tables differ by a few percent, so each
  counts as nominal, ±5 %.
- JIS R 6001:1987, microgrits by electrical resistance: d50 and tolerance seen. JIS
  grades coarser than 240 are not in it.
"""

from __future__ import annotations

P_UM: dict[int, float] = {
    12: 1815, 16: 1324, 20: 1000, 24: 764, 30: 642, 36: 538, 40: 425, 50: 336,
    60: 269, 80: 201, 100: 162, 120: 125, 150: 100, 180: 82, 220: 68, 240: 58.5,
    280: 52.2, 320: 46.2, 360: 40.5, 400: 35.0, 500: 30.2, 600: 25.8, 800: 21.8,
    1000: 18.3, 1200: 15.3, 1500: 12.6, 2000: 10.3, 2500: 8.4,
}  # fmt: skip
P_TOLERANCE_UM: dict[int, float] = {
    240: 2.0, 280: 2.0, 320: 1.5, 360: 1.5, 400: 1.5, 500: 1.5, 600: 1.0, 800: 1.0,
    1000: 1.0, 1200: 1.0, 1500: 1.0, 2000: 0.8, 2500: 0.5,
}  # fmt: skip
P_OF_UNKNOWN_SIZE = (3000, 5000)
CAMI_UM: dict[int, float] = {
    24: 708, 30: 632, 36: 530, 40: 425, 50: 348, 60: 265, 80: 190, 100: 140, 120: 115,
    150: 92, 180: 82, 220: 68, 240: 53.0, 320: 36.0, 360: 28.0, 400: 23.0, 500: 20.0,
    600: 16.0, 800: 12.6, 1000: 10.3,
}  # fmt: skip
CAMI_TOLERANCE_SHARE = 0.05
JIS_UM: dict[int, tuple[float, float]] = {
    240: (57.0, 3.0), 280: (48.0, 3.0), 320: (40.0, 2.5), 360: (35.0, 2.0),
    400: (30.0, 2.0), 500: (25.0, 2.0), 600: (20.0, 1.5), 700: (17.0, 1.3),
    800: (14.0, 1.0), 1000: (11.5, 1.0), 1200: (9.5, 0.8), 1500: (8.0, 0.6),
    2000: (6.7, 0.6), 2500: (5.5, 0.5), 3000: (4.0, 0.5), 4000: (3.0, 0.4),
    6000: (2.0, 0.4), 8000: (1.2, 0.3),
}  # fmt: skip
"""d50 and how far it may be off."""
SIZES_UM: dict[str, dict[int, float]] = {
    "P": P_UM,
    "CAMI": CAMI_UM,
    "JIS": {number: d50 for number, (d50, _) in JIS_UM.items()},
}
TOLERANCE_UM: dict[str, dict[int, float]] = {
    "P": P_TOLERANCE_UM,
    "CAMI": {number: CAMI_TOLERANCE_SHARE * um for number, um in CAMI_UM.items()},
    "JIS": {number: tolerance for number, (_, tolerance) in JIS_UM.items()},
}
"""How far the mean grain of a sheet may be off, where a figure was found."""
SPELT: dict[str, tuple[str, ...]] = {
    "P": ("P",),
    "CAMI": ("CAMI", "ANSI"),
    "JIS": ("JIS",),
}
"""How each system is written before its number; film is written with its unit."""
FILM_UM = (0.05, 300.0)
"""Film is named by its grain; finer or coarser than this is a slip of the pen. The
coarsest film of the trade is about 100 µm (common practice, no source)."""


def same_number(number: int) -> list[str]:
    """Say how large the grains of a bare number are in each system that has it.

    >>> same_number(400)
    ['P400 has grains of 35 µm', 'CAMI 400 of 23 µm', 'JIS 400 of 30 µm']
    """
    sizes = [
        f"{grade_name(system, number)} of {sizes[number]:g} µm"
        for system, sizes in SIZES_UM.items()
        if number in sizes
    ]
    return [sizes[0].replace(" of ", " has grains of ", 1), *sizes[1:]] if sizes else []


def grade_name(system: str, number: int) -> str:
    """Write a grade as this program does: P240, CAMI 240, JIS 1000."""
    return f"{system}{'' if system == 'P' else ' '}{number}"
