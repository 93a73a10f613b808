"""The two verdicts in words: does it work, and is it flat; by what, how sure."""

from __future__ import annotations

from lapping.answer import Answer
from lapping.words.figures import listed

AT_ODDS = "the sets disagree, as if the face was worked between them"
ZONE_WORDS = {"mouth": "land ahead of the mouth"}


def works_words(answer: Answer) -> str:
    """Say whether the plane should work, by how much, and how sure that is."""
    working = answer.working
    word = {"flat": "Yes", "not flat": "No", "cannot tell": "Cannot tell"}
    zones = listed(ZONE_WORDS.get(z.zone, z.zone) for z in working.zones)
    said = f"{word[answer.working_verdict]}: {zones} "
    if answer.unseen:
        return said + "cannot be compared, see what was not seen."
    if answer.at_odds:
        return said + f"cannot be judged: {AT_ODDS}."
    if answer.unread and answer.working_verdict == "cannot tell":
        return f"{said}cannot be judged: {unread_words(answer)}."
    low, high = working.interval_um
    unit = answer.shown_in
    said += (
        f"lie within {unit.range(working.together_um, low, high)}; "
        f"{unit.limit(answer.target_um)} allowed, {chance_words(working.probability)}"
    )
    return f"{said}{but_words(answer)}."


def but_words(answer: Answer) -> str:
    """Say what else is in the way where toe, land and heel are not, or nothing."""
    weakest = answer.working.weakest
    if answer.working_verdict == "flat" or weakest == "together":
        return ""
    what = {
        "proud": "the middle stands proud of toe and heel",
        "hollow": "the rest is deeply hollow",
    }
    doubt = "" if answer.working_verdict == "not flat" else "it may be that "
    return f", but {doubt}{what[weakest]}"


def flat_words(answer: Answer) -> str:
    """Say whether the whole face is flat, by how much, and how sure that is."""
    low, high = answer.likely.interval_um
    unit = answer.shown_in
    source = " (BS 3623, ±0.04 mm)" if answer.target_is_default else ""
    allowed = f"{unit.limit(answer.target_um)} {unit.name} allowed{source}"
    word = answer.verdict.capitalize()
    if answer.verdict == "flat" and all(s.method == "feeler" for s in answer.sets):
        word = "Flat, as far as leaves reach"
    likely = answer.likely.likely_um
    if likely is None or high is None:
        return f"{word}: at least {unit.said(low)}, upper limit not known; {allowed}."
    how_sure = AT_ODDS if answer.at_odds else chance_words(answer.probability)
    if answer.unread and answer.verdict == "cannot tell":
        how_sure = unread_words(answer)
    return f"{word}: likely {unit.range(likely, low, high)}; {allowed}; {how_sure}."


def unread_words(answer: Answer) -> str:
    """Say which zones that have to bear were not read."""
    return f"no reading is near the {listed(answer.unread)}"


def chance_words(p: float | None) -> str:
    """Say how sure it is that what is allowed is met."""
    if p is None:
        return "chance not known"
    if p >= 0.99:
        return "met: over 99 % sure"
    if p <= 0.01:
        return "not met: over 99 % sure"
    # Rounded down, so that no "95 %" stands beside a verdict that needs 95.
    return f"met with a chance of {int(100 * p)} %"
