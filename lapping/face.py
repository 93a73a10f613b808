"""A face: its outline, mouth, holes and the zones that have to work.

The frame (docs/conventions.md draws it): the face is looked at face up with the toe
pointing away; ``along_mm`` runs from the toe (0) to the heel, ``across_mm`` from the
left edge (0) to the right edge in that view.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["sole", "side", "bed", "lap"]
LeftEdge = Literal["sole", "top"]

KINDS: tuple[Kind, ...] = ("sole", "side", "bed", "lap")
LAND_MM = 12.0
"""Length of the land ahead of the mouth that bears; common practice, no source."""
END_SHARE = 0.1
"""The toe and the heel are this share of the length, and at least END_MIN_MM."""
END_MIN_MM = 10.0
EDGE_SHARE = 0.1
"""Each edge zone is this share of the width, and at least EDGE_MIN_MM."""
EDGE_MIN_MM = 4.0
RIM_MM = 5.0
"""A leaf pushed in no further than this is read at the rim: it is wider itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mouth:
    """The slot for the iron, from its front to its back edge.

    Without ``left_mm`` and ``right_mm`` it runs across the whole width.
    """

    from_mm: float
    to_mm: float
    left_mm: float | None = None
    right_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A screw hole or the like: no metal inside."""

    along_mm: float
    across_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A stated rectangle of the face with a name people use."""

    name: str
    along_from_mm: float
    along_to_mm: float
    across_from_mm: float
    across_to_mm: float

    def holds(self, along_mm: float, across_mm: float) -> bool:
        """Say whether the place lies in the zone, its border included."""
        return (
            self.along_from_mm <= along_mm <= self.along_to_mm
            and self.across_from_mm <= across_mm <= self.across_to_mm
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """The outline of one face in its own frame, all sizes in millimetres."""

    length_mm: float
    width_mm: float
    kind: Kind = "sole"
    mouth: Mouth | None = None
    holes: tuple[Hole, ...] = ()
    left_edge: LeftEdge | None = None

    def __post_init__(self) -> None:
        """Refuse sizes that no face can have."""
        for name in ("length_mm", "width_mm"):
            value = getattr(self, name)
            if not 0 < value < float("inf"):
                message = f"'{name}' must be more than 0 mm (got {value:g})"
                raise ValueError(message)

    def on_outline(self, along_mm: float, across_mm: float) -> bool:
        """Say whether the place lies within the outline, its border included."""
        return 0 <= along_mm <= self.length_mm and 0 <= across_mm <= self.width_mm

    def in_mouth(self, along_mm: float, across_mm: float) -> bool:
        """Say whether the place lies in the open mouth; its edges are metal."""
        mouth = self.mouth
        if mouth is None:
            return False
        left, right = self.mouth_sides_mm()
        # A mouth that reaches the outline is open there: the border is no metal.
        inside = (across_mm > left or left <= 0) and (
            across_mm < right or right >= self.width_mm
        )
        return mouth.from_mm < along_mm < mouth.to_mm and inside

    def mouth_sides_mm(self) -> tuple[float, float]:
        """Give where the mouth begins and ends across the face."""
        mouth = self.mouth
        if mouth is None:
            message = "this face has no mouth"
            raise ValueError(message)
        left = 0.0 if mouth.left_mm is None else mouth.left_mm
        right = self.width_mm if mouth.right_mm is None else mouth.right_mm
        return left, right

    def in_hole(self, along_mm: float, across_mm: float) -> Hole | None:
        """Give the hole that the place lies in, or None; a hole's rim is metal."""
        for hole in self.holes:
            d2 = (along_mm - hole.along_mm) ** 2 + (across_mm - hole.across_mm) ** 2
            if d2 < (hole.diameter_mm / 2) ** 2:
                return hole
        return None

    def is_metal(self, along_mm: float, across_mm: float) -> bool:
        """Say whether there is metal to read at the place."""
        return (
            self.on_outline(along_mm, across_mm)
            and not self.in_mouth(along_mm, across_mm)
            and self.in_hole(along_mm, across_mm) is None
        )

    def at_rim(self, along_mm: float, across_mm: float) -> bool:
        """Say whether a leaf read here went in no further than RIM_MM."""
        if (
            min(along_mm, self.length_mm - along_mm) <= RIM_MM
            or min(across_mm, self.width_mm - across_mm) <= RIM_MM
        ):
            return True
        mouth = self.mouth
        if mouth is None:
            return False
        left, right = self.mouth_sides_mm()
        off_along = max(mouth.from_mm - along_mm, along_mm - mouth.to_mm, 0.0)
        off_across = max(left - across_mm, across_mm - right, 0.0)
        return bool(off_along**2 + off_across**2 <= RIM_MM**2)

    def zones(self) -> tuple[Zone, ...]:
        """Give toe, land ahead of the mouth (if any), heel and the two edges."""
        end = min(max(END_MIN_MM, END_SHARE * self.length_mm), self.length_mm / 3)
        edge = min(max(EDGE_MIN_MM, EDGE_SHARE * self.width_mm), self.width_mm / 3)
        length, width = self.length_mm, self.width_mm
        first, last = ("toe", "heel")
        if self.kind == "lap":
            first, last = ("left end", "right end")
        found = [_across(first, 0, end, width)]
        if self.mouth is not None:
            front = self.mouth.from_mm
            found.append(_across("mouth", max(0.0, front - LAND_MM), front, width))
        found.append(_across(last, length - end, length, width))
        for name, low, high in (
            ("left edge", 0.0, edge),
            ("right edge", width - edge, width),
        ):
            found.append(
                Zone(
                    name=name,
                    along_from_mm=0,
                    along_to_mm=length,
                    across_from_mm=low,
                    across_to_mm=high,
                )
            )
        return tuple(found)

    def bearing_zones(self) -> tuple[Zone, ...]:
        """Give the zones that must lie in one plane: both ends and the mouth land."""
        return tuple(z for z in self.zones() if not z.name.endswith("edge"))


def _across(name: str, start: float, stop: float, width: float) -> Zone:
    return Zone(
        name=name,
        along_from_mm=start,
        along_to_mm=stop,
        across_from_mm=0.0,
        across_to_mm=width,
    )
