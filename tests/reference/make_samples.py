"""Write the sample readings files of `sample_measurements`, the same every time.

    python -m tests.reference.make_samples

The workshop, its planes and all numbers are invented. Each face has a shape that is
known here; it is read as a gauge would read it (tilted set-up, noise, whole steps), so
that what the program answers can be held against what is true.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

from tests.reference import line_samples, medlar_samples
from tests.reference.invented import (
    Dial,
    dented,
    document,
    formed,
    lattice,
    normal,
    plain,
    rows,
)

FOLDER = Path(__file__).resolve().parents[2] / "sample_measurements"


BRAMBLE = dented(formed(245, 60, 0, 0, 2), (95, 30), (18, 30), 140)
BRAMBLE_SIDE = formed(200, 42, 60, 0, 2)
TEASEL = formed(355, 62, 14, 220, 3)
SORREL = dented(formed(340, 68, 6, 0, 1.5), (208, 17), (6, 6), 32)
CLOVER = formed(165, 50, 5, 0, 2)
BRACKEN = formed(560, 72, -170, 0, 2)
NETTLE = formed(230, 58, 30, 32, 2)


def bramble() -> str:
    """A smoother with a hollow just behind the mouth, which takes the land with it."""
    face = BRAMBLE
    places = lattice((6, 40, 78, 91, 104, 135, 170, 205, 239), (4, 30, 56))
    dial = Dial(step_um=2, noise_um=2, tilt_um=(35, -12))
    readings = dial.read(face, places, random.Random(11))
    return document(
        (
            "Bramble, the smoother; the wash-house workshop",
            "sole up on three jacks on the plate, dial on a stand, plane cold",
        ),
        (
            "method: dial",
            "face: sole",
            "length: 245 mm",
            "width: 60 mm",
            "mouth: 81 mm to 87 mm, across 6 mm to 54 mm",
            "unit: um",
            "sense: high-positive",
            "resolution: 2 um",
            "repeatability: 2 um",
            "reference_flatness: 5 um",
        ),
        rows(places, [str(2 * n) for n in readings]),
    )


def teasel() -> str:
    """A jack plane in wind, read with a workshop dial that counts downwards."""
    face = TEASEL
    places = lattice((8, 60, 106, 125, 190, 270, 347), (5, 31, 57))
    dial = Dial(step_um=10, noise_um=4, tilt_um=(-60, 25), sense=-1)
    readings = dial.read(face, places, random.Random(12))
    return document(
        (
            "Teasel, the jack; the wash-house workshop",
            "the dial reads upwards against the sole, so it counts down at high places",
        ),
        (
            "method: dial",
            "face: sole",
            "length: 355 mm",
            "width: 62 mm",
            "mouth: 110 mm to 116 mm, across 5 mm to 57 mm",
            "unit: 0.01mm",
            "sense: low-positive",
            "repeatability: 5 um",
            "reference_flatness: 5 um",
        ),
        rows(places, [str(n) for n in readings]),
    )


def sorrel() -> str:
    """A panel plane with a riveted sole: one rivet has sunk."""
    face = SORREL
    dial = Dial(step_um=2, noise_um=1.5, tilt_um=(20, 15))
    places = lattice((8, 62, 119, 135, 170, 208, 245, 290, 332), (5, 17, 34, 51, 63))
    readings = dial.read(face, places, random.Random(13))
    return document(
        (
            "Sorrel, the panel plane with a riveted sole; the wash-house workshop",
            "rows at 17 and 51 mm run over the rivets",
        ),
        (
            "method: dial",
            "face: sole",
            "length: 340 mm",
            "width: 68 mm",
            "mouth: 124 mm to 128 mm, across 6 mm to 62 mm",
            "unit: um",
            "sense: high-positive",
            "resolution: 2 um",
            "repeatability: 2 um",
            "reference_flatness: 5 um",
        ),
        rows(places, [str(2 * n) for n in readings]),
    )


CLOVER_HEADER = (
    "face: sole",
    "length: 165 mm",
    "width: 50 mm",
    "mouth: 38 mm to 43 mm, across 5 mm to 45 mm",
)
CLOVER_ALONG = (5, 20, 34, 47, 80, 120, 160)


def clover() -> str:
    """Give the readings of a sole that passes, by a dial of 2 µm steps."""
    face = CLOVER
    places = lattice(CLOVER_ALONG, (4, 25, 46))
    dial = Dial(step_um=2, noise_um=1.5, tilt_um=(-16, 8))
    readings = dial.read(face, places, random.Random(14))
    return document(
        ("Clover, the block plane, after lapping; the wash-house workshop",),
        (
            "method: dial",
            *CLOVER_HEADER,
            "unit: um",
            "sense: high-positive",
            "repeatability: 2 um",
            "reference_flatness: 5 um",
            "target: 50 um",
        ),
        rows(places, [str(2 * n) for n in readings]),
    )


def clover_coarse() -> str:
    """The same sole read with an old dial: whole thou only, and loose."""
    face = CLOVER
    places = lattice(CLOVER_ALONG, (4, 25, 46))
    dial = Dial(step_um=25.4, noise_um=18, tilt_um=(-16, 8))
    readings = dial.read(face, places, random.Random(15))
    return document(
        ("Clover once more on the same day, read with the old dial in whole thou",),
        (
            "method: dial",
            *CLOVER_HEADER,
            "unit: thou",
            "sense: high-positive",
            "repeatability: 1 thou",
            "reference_flatness: 5 um",
            "target: 50 um",
        ),
        rows(places, [str(n) for n in readings]),
    )


def nettle() -> str:
    """A block written on paper from the heel: the places fall into the mouth."""
    face = NETTLE
    along, across = (6, 40, 72, 88, 120, 152, 190, 224), (4, 29, 54)
    places = [(a, c) for c in across for a in along]
    dial = Dial(step_um=10, noise_um=4, tilt_um=(30, 10))
    found = iter(dial.read(face, places, random.Random(16)))
    table = [[next(found) for _ in along] for _ in across]
    # On paper the columns were headed with the distance from the heel.
    headed = [plain(230 - a) for a in along]
    return document(
        (
            "Nettle, the rebate plane as its notebook page has it",
            "columns were counted from the heel by mistake",
        ),
        (
            "method: dial",
            "face: sole",
            "length: 230 mm",
            "width: 58 mm",
            "mouth: 76 mm to 84 mm",
            "unit: um",
            "sense: high-positive",
            "resolution: 10 um",
        ),
        [
            "across\\along," + ",".join(headed),
            *(
                ",".join([plain(c), *(str(10 * n) for n in line)])
                for c, line in zip(across, table, strict=True)
            ),
        ],
    )


LEAVES_UM = (30, 40, 50, 60, 80, 100, 120, 150, 200, 250, 300)


def bracken() -> str:
    """A long jointer, hollow along, read with leaves at the rim and the mouth."""
    height = BRACKEN.height_um
    places = [
        (a, c) for a in (2, 80, 150, 178, 200, 280, 360, 440, 558) for c in (2, 70)
    ]
    places += [(2, 36), (190, 36), (198, 36), (558, 36)]
    lean = max(height(*place) for place in places[:2])
    other = max(height(*place) for place in places[16:18])
    chance = random.Random(17)
    table = ["along,across,goes,stops"]
    for a, c in sorted(places):
        plate = lean + (other - lean) * a / 560
        gap = max(plate - height(a, c), 0.0) + 2 * normal(chance)
        goes = max((leaf for leaf in LEAVES_UM if leaf < gap), default=0)
        stops = min(leaf for leaf in LEAVES_UM if leaf >= gap)
        table.append(
            f"{plain(a)},{plain(c)},{plain(goes / 1000, 3)},{plain(stops / 1000, 3)}"
        )
    return document(
        (
            "Bracken, the jointer, sole down on the plate; the wash-house workshop",
            "leaves went in at the rim and through the mouth, as far as 4 mm",
        ),
        (
            "method: feeler",
            "face: sole",
            "length: 560 mm",
            "width: 72 mm",
            "mouth: 191 mm to 197 mm, across 8 mm to 64 mm",
            "unit: mm",
            "leaves: " + ", ".join(plain(leaf / 1000, 3) for leaf in LEAVES_UM),
            "reference_flatness: 10 um",
        ),
        table,
    )


def bramble_side() -> str:
    """The right cheek of the smoother: it bellies out in the middle."""
    face = BRAMBLE_SIDE
    places = lattice((6, 40, 80, 120, 160, 194), (4, 21, 38))
    dial = Dial(step_um=12.7, noise_um=5, tilt_um=(22, -14))
    readings = dial.read(face, places, random.Random(18))
    return document(
        ("Bramble again, the cheek whose sole edge is on the left",),
        (
            "method: dial",
            "face: side",
            "left_edge: sole",
            "length: 200 mm",
            "width: 42 mm",
            "unit: in",
            "sense: high-positive",
            "resolution: 0.0005 in",
            "reference_flatness: 5 um",
        ),
        rows(places, [plain(n * 0.0005, 4) for n in readings]),
    )


SAMPLES: dict[str, Callable[[], str]] = {
    "clover_passes.csv": clover,
    "clover_coarse_dial.csv": clover_coarse,
    "bramble_hollow_behind_mouth.csv": bramble,
    "bramble_side.csv": bramble_side,
    "teasel_twist.csv": teasel,
    "sorrel_sunk_rivet.csv": sorrel,
    "bracken_leaves.csv": bracken,
    "nettle_heel_for_toe.csv": nettle,
    "yarrow_no_diagonals.csv": line_samples.yarrow_no_diagonals,
    "yarrow_sticks.csv": line_samples.yarrow_sticks,
    "yarrow_edge.csv": line_samples.yarrow_edge,
    "yarrow_edge_turned.csv": line_samples.yarrow_edge_turned,
    "planer_table.csv": line_samples.planer_table,
    "bracken_on_planer_table.csv": line_samples.bracken_on_table,
    "bramble_side_square.csv": line_samples.bramble_square,
    **medlar_samples.SAMPLES,
}
TRUTHS = {
    "clover_passes.csv": CLOVER,
    "clover_coarse_dial.csv": CLOVER,
    "bramble_hollow_behind_mouth.csv": BRAMBLE,
    "bramble_side.csv": BRAMBLE_SIDE,
    "teasel_twist.csv": TEASEL,
    "sorrel_sunk_rivet.csv": SORREL,
    "bracken_leaves.csv": BRACKEN,
    "yarrow_no_diagonals.csv": line_samples.YARROW,
    "yarrow_edge.csv": line_samples.YARROW,
    "yarrow_edge_turned.csv": line_samples.YARROW,
    "planer_table.csv": line_samples.TABLE,
    "bracken_on_planer_table.csv": line_samples.BRACKEN_LAPPED,
    **medlar_samples.TRUTHS,
}
"""The faces behind the samples that are answered."""


def main() -> None:
    """Write every sample."""
    FOLDER.mkdir(exist_ok=True)
    for name, make in SAMPLES.items():
        (FOLDER / name).write_text(make(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
