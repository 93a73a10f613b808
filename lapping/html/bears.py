"""Where a face bore on the paper, from the newest photo of a scribble."""

from __future__ import annotations

from collections.abc import Iterator

from lapping.answer import Answer
from lapping.html.document import entries, figure, heading, paragraph
from lapping.html.figures import as_jpeg
from lapping.photo.look import Look
from lapping.pictures.contact import contact_picture
from lapping.words.contact import contact_answer, contact_entries


def bears(seen: Look, found: Answer | None) -> Iterator[str]:
    """Give the part of the page on a photo, beside the map of the same time if any."""
    answer, said = contact_answer(seen.contact), contact_entries(seen.contact, then="")
    yield heading(2, "Where it bears")
    yield figure(
        as_jpeg(contact_picture(seen, found), answer),
        "The photo with the face found in it, the face straight on, and where the ink "
        "is gone; hatched was not seen.",
    )
    yield paragraph(answer)
    yield entries(said)
    yield paragraph(
        "Where ink is gone the face met the paper; a photo cannot tell how high.",
        "small",
    )
