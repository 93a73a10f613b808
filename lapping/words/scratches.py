"""What a close-up says of scratches, in words for the bench and as JSON."""

from __future__ import annotations

import textwrap
from typing import Any

from lapping.directions import direction_words
from lapping.photo.scratches import GONE_SHARE, ScratchCheck, Toe
from lapping.words.figures import sentences
from lapping.words.labelled import WIDTH

LIGHT = (
    "light that falls along a scratch hides it: look once more with the light from "
    "another side before you change to the next grit"
)


def scratch_report(found: ScratchCheck, toe: Toe) -> str:
    """Give the verdict first, then what it rests on."""
    text = f"Scratches of the last grit: {found.verdict}"
    ways = [direction_words(d) for d in (found.previous_deg, found.this_deg)]
    if not found.closeup:
        text += ", no close-up"
        said = []
    elif found.share is None or found.low is None or found.high is None:
        said = [f"asked for were those {ways[0]}, against this grit's {ways[1]}"]
    else:
        text += (
            f", {100 * found.share:.0f} % ({100 * found.low:.0f} to "
            f"{100 * found.high:.0f})"
        )
        said = [
            f"of what the light shows of scratches, so much runs {ways[0]}, as the "
            f"last grit did, and the rest {ways[1]}; under {100 * GONE_SHARE:.0f} % "
            "they count as gone"
        ]
    if found.closeup:
        said.append(f"seen with the toe {toe} in the photo")
    said += found.warnings
    if found.verdict == "gone":
        said.append(LIGHT)
    more = textwrap.wrap(sentences(said), WIDTH - 2, break_on_hyphens=False)
    return "\n".join([text, *(f"  {line}" for line in more)])


def scratch_json(found: ScratchCheck, file: str, toe: Toe) -> dict[str, Any]:
    """Give the answer for another program; what could not be told is null."""
    share, low, high = found.share, found.low, found.high
    return {
        "file": file,
        "verdict": found.verdict,
        "share_percent": None if share is None else 100 * share,
        "interval_percent": (
            None if low is None or high is None else [100 * low, 100 * high]
        ),
        "gone_below_percent": 100 * GONE_SHARE,
        "previous_deg": found.previous_deg,
        "this_deg": found.this_deg,
        "strongest_deg": found.strongest_deg,
        "toe": toe,
        "closeup": found.closeup,
        "warnings": list(found.warnings),
    }
