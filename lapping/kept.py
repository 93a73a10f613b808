"""What is set up and done at the bench, as it was said, for a log to keep.

Each record is one fact. A correction is a new fact that replaces an older one, and
nothing worked out from facts is among them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, Literal, TypeVar

from lapping.errors import BadInput
from lapping.sayings import between, check_grade, check_name, check_text

if TYPE_CHECKING:
    # Recording strokes needs no readings, and loading them takes time.
    from lapping.readings import Method

Settings = tuple[tuple[str, str], ...]
"""Header lines as typed, key and value, as a readings file has them."""
LapKind = Literal["machine table", "glass", "plate", "other"]
LAP_KINDS: tuple[LapKind, ...] = ("machine table", "glass", "plate", "other")
AnyFact = TypeVar("AnyFact", covariant=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """A plane: what it is and the angles by which its mouth grows."""

    name: str
    kind: str = "bench plane"
    metal: str = "cast iron"
    bed_deg: float | None = None
    front_deg: float | None = None
    mouth_mm: float | None = None
    weight_g: float | None = None
    note: str | None = None

    def __post_init__(self) -> None:
        """Refuse what no plane can be."""
        check_name("a plane", self.name)
        check_text("kind", self.kind)
        check_text("metal", self.metal)
        check_text("note", self.note)
        for name in ("bed_deg", "front_deg"):
            between(name, getattr(self, name), 0, 180)
        between("mouth_mm", self.mouth_mm, 0, 100)
        between("weight_g", self.weight_g, 0, 100_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneFace:
    """A face of a plane, drawn by header lines; ``plane`` None until it is attached.

    ``plane`` is the number of the entry that first named the plane. ``target`` is as
    typed, ``zones`` are those of the face's zones that matter.
    """

    name: str
    settings: Settings
    length_mm: float
    width_mm: float
    plane: int | None = None
    target: str | None = None
    target_reason: str | None = None
    zones: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a name that ``PLANE/face`` could not hold."""
        check_name("a face", self.name)
        if "/" in self.name:
            message = (
                f"a face cannot be named '{self.name}': '/' parts the plane from the "
                "face; name it sole, left side or the like"
            )
            raise BadInput(message)
        check_text("target", self.target)
        check_text("the reason", self.target_reason)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """A gauge and the header lines that go with every set it reads."""

    name: str
    method: Method
    settings: Settings

    def __post_init__(self) -> None:
        """Refuse a name that could not be typed again."""
        check_name("a gauge", self.name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lap:
    """A lap: its flatness as typed and in µm if stated; ``face`` if it was measured."""

    name: str
    kind: LapKind
    flatness: str | None = None
    flatness_um: float | None = None
    face: int | None = None
    note: str | None = None

    def __post_init__(self) -> None:
        """Refuse a name that could not be typed again."""
        check_name("a lap", self.name)
        between("flatness_um", self.flatness_um, 0, 20_000)
        check_text("note", self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """Abrasive paper on hand: its grade with the system it is of, and its sheet."""

    name: str
    grade: str
    sheet: str | None = None
    note: str | None = None

    def __post_init__(self) -> None:
        """Refuse a grade that could be either of two grits."""
        check_name("a paper", self.name)
        check_grade(self.grade)
        check_text("sheet", self.sheet)
        check_text("note", self.note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strokes:
    """A run of strokes on one paper; one stroke is one push and its return.

    Either ``count`` or ``minutes`` says how many. ``load`` is as typed (``light``,
    ``4 kg``) and ``load_kg`` what that is, if it was a weight.
    """

    face: int
    grade: str
    count: int | None = None
    minutes: float | None = None
    load: str | None = None
    load_kg: float | None = None
    lubricant: str | None = None
    direction: str | None = None
    hand: str | None = None
    lap: int | None = None
    fresh_sheet: bool = False
    turned: bool = False
    iron_in: bool = True
    note: str | None = None

    def __post_init__(self) -> None:
        """Refuse strokes that nobody can have made."""
        check_grade(self.grade)
        if (self.count is None) == (self.minutes is None):
            message = "say how many strokes, or how many minutes, and not both"
            raise BadInput(message)
        between("strokes", self.count, 0, 100_000)
        between("minutes", self.minutes, 0, 1440)
        between("load_kg", self.load_kg, 0, 200)
        for name in ("load", "lubricant", "direction", "hand", "note"):
            check_text(name, getattr(self, name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry(Generic[AnyFact]):
    """A fact with its place in the log; None where it says that one is taken back.

    ``root`` is the entry that this one corrects, by way of ``replaces``, in the end;
    it is its own root if it corrects none. Entries are numbered in the order they
    were made, whatever the clock said.
    """

    id: int
    root: int
    replaces: int | None
    session: int
    entered_at: str
    fact: AnyFact
