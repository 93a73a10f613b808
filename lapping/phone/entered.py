"""What was entered at a place of a set: kept, doubted, or known already."""

from __future__ import annotations

from lapping.bench.reading_kept import Kept
from lapping.errors import BadInput
from lapping.history import LoggedReading
from lapping.log.entries import now_holding
from lapping.log.opening import Log
from lapping.phone.forms import Sent
from lapping.prompt.words import kept_words

_SURE = ("yes", "both", "instead")


class Doubted(Exception):
    """A value that should be looked at again before it is kept."""


class ReadAlready(Doubted):
    """A value for a place that another phone or page has read meanwhile."""


def entered(kept: Kept, sent: Sent) -> str:
    """Keep a reading or a skip inside a transaction; give what was kept, in words."""
    place = _place_of(kept, sent)
    read = [one for one in kept.at(place) if not one.fact.skipped]
    if read and sent["what"] in ("", "new", "skip") and sent["sure"] not in _SURE:
        was = read[-1].fact.understood
        assert was is not None  # it is not skipped
        message = f"read already elsewhere: {kept_words(was, kept.scale)}."
        raise ReadAlready(message)
    if sent["what"] == "skip":
        kept.skip(place)
        return "skipped"
    text = sent["text"]
    if not text:
        message = "nothing was typed: a reading, or Skip"
        raise BadInput(message)
    cells, reading = kept.meant(place, text)
    if sent["sure"] not in _SURE:
        doubt = kept.doubt_of(place, reading, text)
        if doubt is not None:
            raise Doubted(doubt)
    corrects = sent["sure"] == "instead" or (
        sent["what"] == "correct" and sent["sure"] != "both"
    )
    kept.keep(place, cells, corrects=corrects)
    return kept_words(reading, kept.scale)


def _place_of(kept: Kept, sent: Sent) -> int:
    place = sent.number("place")
    if place >= len(kept.plan):
        message = "there is no such place in this set; load the page again"
        raise BadInput(message)
    return place


def known(log: Log, kept: Kept, number: int, sent: Sent) -> str:
    """Say again what was kept of something that was sent twice."""
    held = now_holding(log, LoggedReading, number)
    if held is None or held.fact.understood is None:
        return "skipped" if sent["what"] == "skip" else "already"
    cells, _ = kept.meant(_place_of(kept, sent), sent["text"])
    if cells != held.fact.cells:
        message = (
            "this form was sent before with something else in it; load the page again"
        )
        raise BadInput(message)
    return kept_words(held.fact.understood, kept.scale)
