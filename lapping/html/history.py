"""How a face came along, as a table and pictures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lapping.html.document import figure, heading, listed_items, paragraph, table
from lapping.html.figures import as_svg
from lapping.html.lengths import Lengths
from lapping.pictures.progress import progress as progress_figure
from lapping.pictures.progress_maps import progress_maps
from lapping.progress import Came, Progress
from lapping.removal.glance import Glance
from lapping.words.budgets import budget_words
from lapping.words.came import (
    BROUGHT_IN,
    bears_words,
    figure_words,
    flatness_words,
    strokes_words,
    when_words,
)

MOST_ROWS = 40
"""More are no history that anybody reads on paper; the first and the newest stay."""


def history(
    found: Progress, glances: Sequence[Glance], lengths: Lengths
) -> Iterator[str]:
    """Give the part of the page on all times the face was looked at."""
    if len(found.times) < 2:
        return
    yield heading(2, "How it came along")
    first, last = found.times[0], found.times[-1]
    yield figure(
        as_svg(progress_figure(found), "progress", _in_short(first, last, lengths)),
        "Flatness with its 95 % range against what is allowed, twist and bow, and "
        "the strokes before each time it was looked at.",
    )
    if len(glances) > 1:
        yield figure(
            as_svg(
                progress_maps(found.label, glances),
                "maps",
                f"Maps of the face from the first to the last of {len(glances)} looks.",
            ),
            "The face from its first reading to its last, in one scale.",
        )
    shown = list(found.times)
    if len(shown) > MOST_ROWS:
        yield paragraph(f"The first time and the {MOST_ROWS - 1} newest are listed.")
        shown = [shown[0], *shown[1 - MOST_ROWS :]]
    one, _ = lengths.heads()
    columns = [
        ("When", when_words),
        ("Strokes before", strokes_words),
        ("Flatness", lambda came: flatness_words(came, lengths.unit)),
        ("Twist", lambda came: figure_words(came.twist_um, lengths.unit)),
        ("Bow along", lambda came: figure_words(came.along_bow_um, lengths.unit)),
        ("Bears", bears_words),
        ("To do then", lambda came: came.advised or ""),
    ]
    told = [(head, [cell(came) for came in shown]) for head, cell in columns]
    told = [(head, cells) for head, cells in told if any(cells)]
    yield table(
        f"Every time it was looked at, heights in {one}",
        [head for head, _ in told],
        zip(*(cells for _, cells in told), strict=True),
    )
    if any(when_words(came).startswith("in ") for came in shown):
        yield paragraph(BROUGHT_IN, "small")
    remarks = [(when_words(came), "; ".join(came.remarks)) for came in shown]
    if any(said for _, said in remarks):
        yield heading(3, "Remarks")
        yield listed_items(f"{when}: {said}" for when, said in remarks if said)
    rates = [
        (
            one.grit.name,
            f"{one.strokes:.0f}",
            f"{one.sheets}",
            lengths.ends(one.rate.low_um, one.rate.high_um)[0],
            "assumed" if one.rate.assumed else "learnt here",
        )
        for one in found.grits
    ]
    costs = budget_words(found, lengths.unit)
    if costs:
        yield heading(3, "What it cost the plane")
        yield listed_items(f"{name}: {phrase}" for name, phrase in costs)
    if rates:
        yield table(
            f"What was used, and what 100 strokes take off ({one})",
            ("Paper", "Strokes", "Sheets", "In 100 strokes", "Rate"),
            rates,
        )


def _in_short(first: Came, last: Came, lengths: Lengths) -> str:
    said = [
        f"{when} {lengths.said(one.likely_um)}"
        for when, one in (("at first", first), ("last", last))
        if one.likely_um is not None
    ]
    return f"Flatness {' and '.join(said)}." if said else "The history of the face."
