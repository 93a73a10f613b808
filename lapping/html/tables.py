"""The figures of an answer as tables: plain words, their ISO name, both units."""

from __future__ import annotations

from collections.abc import Iterator

from lapping.answer import Answer
from lapping.html.document import table
from lapping.html.lengths import Lengths
from lapping.places import end_names, place_words
from lapping.surface.form import Bow
from lapping.words.figures import COVERS, high_corners, listed
from lapping.words.verdict import ZONE_WORDS

Row = tuple[str, str, str, str]
"""In plain words, the standard's name, and the figure in both units."""
NOT_TOLD = ("not measured", "")


def numbers_table(answer: Answer, lengths: Lengths) -> str:
    """Give every figure of the answer with its doubt."""
    return table(
        "± and ranges hold 95 % (k = 2). ISO names are those of ISO 12781-1. "
        "1 thou = 0.001 in = 25.4 µm; 1 µm = 0.001 mm.",
        ("Figure", "Name in the standard", *lengths.heads()),
        (*_flatness(answer, lengths), *_form(answer, lengths)),
    )


def spots_table(answer: Answer, lengths: Lengths) -> str:
    """Give the high and low spots with where they are; nothing where there are none."""
    rows = [
        (
            f"{letter}{number}{'' if spot.sure else '?'}",
            place_words(answer.face, spot.along_mm, spot.across_mm),
            f"{spot.along_mm:.0f}",
            f"{spot.across_mm:.0f}",
            *lengths.cells(spot.height_um, COVERS * spot.u_um),
        )
        for letter, found in (("H", answer.high_spots), ("L", answer.low_spots))
        for number, spot in enumerate(found, start=1)
    ]
    if not rows:
        return ""
    return table(
        "High (H) and low (L) spots over the best-fit plane, along from the "
        f"{end_names(answer.face)[0]}; ? is doubtful.",
        ("Spot", "Where", "Along, mm", "Across, mm", *lengths.heads()),
        rows,
    )


def _flatness(answer: Answer, lengths: Lengths) -> Iterator[Row]:
    likely = answer.likely.likely_um
    low, high = answer.likely.interval_um
    known, ranges = lengths.range_cells(low if likely is None else likely, low, high)
    if likely is not None:
        yield "Flatness of the whole face, likely", "flatness deviation", *known
    yield "its range", "95 % interval", *ranges
    yield "Allowed", "flatness tolerance", *lengths.cells(answer.target_um)
    if not answer.unseen and answer.face.kind != "lap":
        working = answer.working
        zones = listed(ZONE_WORDS.get(z.zone, z.zone) for z in working.zones)
        (one, other), (first, second) = lengths.range_cells(
            working.together_um, *working.interval_um
        )
        yield (
            f"{zones} together".capitalize(),
            "minimum zone of these zones",
            f"{one} ({first})",
            f"{other} ({second})",
        )
    zone, level, floor = answer.zone, answer.least_squares, answer.floor
    if zone is not None:
        yield (
            "Closest two planes that hold the places read",
            "FLTt, minimum zone (MZPL)",
            *lengths.cells(zone.width_um),
        )
    if level is not None:
        for words, name, um in (
            ("Highest to lowest from the best-fit plane", "FLTt", level.total_um),
            ("Highest place over it", "FLTp", level.peak_um),
            ("Lowest place under it", "FLTv", level.valley_um),
            ("Root mean square about it", "FLTq", level.rms_um),
        ):
            yield words, f"{name}, least squares (LSPL)", *lengths.cells(um)
    if floor is not None:
        yield (
            "What a truly flat face would read here",
            "mean minimum zone of noise",
            *lengths.cells(floor.mean_um),
        )
    if answer.bracket is not None:
        upper = None if answer.unseen else answer.bracket.upper_um
        yield (
            "What the leaves prove",
            "bounds of the minimum zone",
            *lengths.ends(answer.bracket.lower_um, upper),
        )


def _form(answer: Answer, lengths: Lengths) -> Iterator[Row]:
    twist = answer.form.twist
    if twist is None:
        yield "Twist", "wind", *NOT_TOLD
    else:
        corners = high_corners(answer.face, twist)
        said = f"{listed(corners)} high" if corners else "none clear"
        yield (
            f"Twist, {said}",
            f"wind; {abs(twist.arcmin):.1f}′ over the width",
            *lengths.cells(abs(twist.um), COVERS * twist.u_um),
        )
    for way, bow in (
        ("along", answer.form.along_bow),
        ("across", answer.form.across_bow),
    ):
        yield (
            f"Bow {way}" + _shape(bow),
            f"sagitta over the full {'length' if way == 'along' else 'width'}",
            *(
                NOT_TOLD
                if bow is None
                else lengths.cells(abs(bow.um), COVERS * bow.u_um)
            ),
        )
    resting = answer.rest
    if resting is not None and not answer.unseen:
        yield (
            "Rocks by" if answer.rocks else "Rocks by, not clearly",
            "largest change of a gap on a flat plate",
            *lengths.cells(resting.rock_um),
        )


def _shape(bow: Bow | None) -> str:
    if bow is None:
        return ""
    return ", none clear" if bow.shape == "straight" else f", {bow.shape}"
