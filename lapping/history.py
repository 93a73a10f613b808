"""Reading sets as a log keeps them, with all else that a log keeps.

What is set up and done is in `kept`, which loads faster, and can be had from here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

from lapping.errors import BadInput
from lapping.kept import (
    LAP_KINDS,
    Entry,
    Gauge,
    Lap,
    LapKind,
    Paper,
    Plane,
    PlaneFace,
    Settings,
    Strokes,
)
from lapping.sayings import check_text

if TYPE_CHECKING:
    from lapping.readings import Method, Reading

__all__ = [
    "LAP_KINDS", "Delimiter", "Entry", "Fact", "Gauge", "Header", "Lap", "LapKind",
    "LoggedReading", "LoggedSet", "Note", "Paper", "Photo", "Plane", "PlaneFace",
    "SetMark", "SetState", "Settings", "Shows", "Strokes", "ToeInPhoto",
]  # fmt: skip
Header = tuple[str, str, int]
"""A header line of a set: key, value as typed, line."""
Delimiter = Literal[",", ";", "\t"]
SetState = Literal["finished", "set aside", "taken up again"]
Shows = Literal["after", "before", "scratches"]
"""A scribble after strokes or before them, or scratches from close by."""
ToeInPhoto = Literal["left", "right", "up", "down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedSet:
    """A reading set begun: the header lines and columns of the file it would be.

    ``places`` are the places planned, in the order to be read, each the cells that
    say where. ``source`` and ``original`` are the file's, if it came from one.
    """

    face: int
    method: Method
    headers: tuple[Header, ...]
    columns: tuple[str, ...]
    gauge: int | None = None
    places: tuple[tuple[str, ...], ...] = ()
    delimiter: Delimiter = ","
    units: str | None = None
    source: str | None = None
    original: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedReading:
    """One reading: its cells as typed, and as understood; both None where skipped.

    ``place`` counts the planned places from 0, None for a place of one's own.
    """

    set: int
    line: int
    cells: tuple[str, ...] | None
    understood: Reading | None
    place: int | None = None
    note: str | None = None

    @property
    def skipped(self) -> bool:
        """Say whether the place was passed over."""
        return self.cells is None


@dataclass(frozen=True, slots=True, kw_only=True)
class SetMark:
    """That a set is finished, set aside, or taken up again."""

    set: int
    state: SetState


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """A remark about any entry."""

    about: int
    text: str

    def __post_init__(self) -> None:
        """Refuse a remark that says nothing."""
        check_text("note", self.text, needed=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo, kept beside the log under the hash of its content.

    ``shows`` is None where nothing was said. ``before`` is the first entry of the photo
    taken before the strokes; ``corners`` and the directions of the strokes of the last
    grit and of this one are as typed; ``toe`` is where the toe lies in the photo.
    """

    face: int
    sha256: str
    ending: str
    size: int
    note: str | None = None
    shows: Shows | None = None
    before: int | None = None
    corners: str | None = None
    toe: ToeInPhoto | None = None
    previous_direction: str | None = None
    this_direction: str | None = None

    def __post_init__(self) -> None:
        """Refuse what is said of another kind of photo."""
        for name, known in (("shows", get_args(Shows)), ("toe", get_args(ToeInPhoto))):
            said = getattr(self, name)
            if said is not None and said not in known:
                message = f"'{name}' must be one of {', '.join(known)} (got '{said}')"
                raise BadInput(message)
        for name in ("note", "corners", "previous_direction", "this_direction"):
            check_text(name, getattr(self, name))
        if self.before is not None and self.shows != "after":
            message = "only a photo taken after strokes has one from before them"
            raise BadInput(message)
        directions = (self.previous_direction, self.this_direction)
        if self.shows != "scratches" and directions != (None, None):
            message = "directions of strokes are said of a photo of scratches only"
            raise BadInput(message)


Fact = (
    Plane | PlaneFace | Gauge | Lap | Paper | Strokes | LoggedSet | LoggedReading
    | SetMark | Note | Photo
)  # fmt: skip
