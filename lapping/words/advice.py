"""Advice in words for the bench: the action first, then why, and how sure."""

from __future__ import annotations

from lapping.advice.advised import Action, Advice
from lapping.words.figures import sentences
from lapping.words.labelled import entry_lines

ORDERS: dict[Action, str] = {
    "cool": "Let it cool, then read it again.",
    "check lap": "Check the lap.",
    "change paper": "Change the paper.",
    "press differently": "Press differently.",
    "one place first": "Work one place first.",
    "drop back": "Drop back to a coarser grit.",
    "measure": "Measure before you go on.",
    "keep lapping": "Keep lapping.",
    "next grit": "Go to the next grit.",
    "done": "This face is done: stop.",
}
WORKS = "Not flat all over, but it works: stop."
"""The order where a sole is done, though the whole of it is not flat."""

WHERE: dict[Action, str] = {
    "keep lapping": "Bear on",
    "measure": "Read at",
    "press differently": "Press on",
    "one place first": "Work at",
}
"""What the places of an advice are for."""


def advice_words(label: str, advice: Advice) -> str:
    """Give the advice and what it stands on, about ten lines."""
    lines = [f"{label}: {order_words(advice)}", ""]
    for name, text in advice_entries(advice):
        lines += entry_lines(name, text)
    return "\n".join(lines)


def advice_entries(advice: Advice) -> list[tuple[str, str]]:
    """Give what the advice stands on as labels with their texts."""
    # What the reason has said already is not said twice.
    signs = [sign for sign in advice.signs if sign.says not in advice.why]
    entries = (
        ("Why", sentences([advice.why])),
        ("How many", _strokes(advice)),
        (WHERE.get(advice.action, "Where"), "; ".join(advice.where)),
        ("How sure", sentences([advice.doubt])),
        ("Signs", sentences(f"{s.name}: {s.says}" for s in signs)),
        ("Mind", sentences(advice.warnings)),
    )
    return [(name, text) for name, text in entries if text]


def advice_line(advice: Advice) -> str:
    """Give the advice in short, for the end of a session."""
    return f"{order_words(advice)} {sentences([advice.why])}"


def order_words(advice: Advice) -> str:
    """Give the order in a few words."""
    if advice.action == "done" and not advice.all_flat:
        return WORKS
    return ORDERS[advice.action]


def _strokes(advice: Advice) -> str:
    if advice.strokes is None:
        return ""
    few, many = advice.strokes
    on = "" if advice.grit is None else f" on {advice.grit.name}"
    return f"{few} to {many} strokes{on} (nine times in ten), then read again"
