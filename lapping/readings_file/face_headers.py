"""The header lines that draw the face: its kind, sizes, mouth and holes."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from lapping.errors import BadInput
from lapping.face import KINDS, Face, Hole, Kind, LeftEdge, Mouth
from lapping.readings_file.header_lines import HeaderLines
from lapping.typed import shown
from lapping.units import UM_PER_MM

MOST_FACE_MM = 5000.0
_LEFT_EDGES: tuple[LeftEdge, ...] = ("sole", "top")
_MOUTH = re.compile(
    r"(.+?)\s+to\s+(.+?)(?:\s*[,;]\s*across\s+(.+?)\s+to\s+(.+))?", re.IGNORECASE
)


def read_face(lines: HeaderLines, positions_um: Fraction) -> Face | None:
    """Give the face, or None where it cannot be drawn; mistakes are noted."""
    kind = lines.choice("face", KINDS, needed=True)
    # A bare size counts only where the file says itself what its positions are in.
    bare = positions_um if "positions" in lines.given else None
    length = lines.size_mm("length", bare, MOST_FACE_MM)
    width = lines.size_mm("width", bare, MOST_FACE_MM)
    left_edge = lines.choice("left_edge", _LEFT_EDGES)
    if left_edge is not None and kind not in {None, "side"}:
        lines.fail("left_edge", f"a {kind} has no sole and top edge; only a side has")
        left_edge = None
    if kind is None or length is None or width is None:
        return None
    return Face(
        length_mm=length,
        width_mm=width,
        kind=kind,
        mouth=_read_mouth(lines, kind, bare, length, width),
        holes=_read_holes(lines, positions_um, length, width),
        left_edge=left_edge,
    )


def _read_mouth(
    lines: HeaderLines, kind: Kind, bare: Fraction | None, length: float, width: float
) -> Mouth | None:
    text = lines.text("mouth")
    if text is None:
        return None
    if kind == "lap":
        lines.fail("mouth", "a lap has no mouth; delete this line")
        return None
    found = _MOUTH.fullmatch(text)
    if found is None:
        lines.fail(
            "mouth",
            f"{shown(text)} is no mouth; write '80 mm to 86 mm', counted from the toe, "
            "and ', across 5 mm to 55 mm' if it does not reach both edges",
        )
        return None
    try:
        sizes = [
            float(lines.um(part, bare) / UM_PER_MM)
            for part in found.groups()
            if part is not None
        ]
    except BadInput as problem:
        lines.fail("mouth", str(problem))
        return None
    start, stop, *sides = sizes
    fits = _check_span(lines, "from the toe", start, stop, length)
    mouth = Mouth(from_mm=start, to_mm=stop)
    if sides:
        left, right = sides
        fits = _check_span(lines, "across", left, right, width) and fits
        mouth = replace(mouth, left_mm=left, right_mm=right)
    return mouth if fits else None


def _check_span(
    lines: HeaderLines, way: str, start: float, stop: float, size: float
) -> bool:
    if start >= stop:
        lines.fail(
            "mouth",
            f"it runs {way} from {start:g} mm to {stop:g} mm; give the smaller first",
        )
    elif start < 0 or stop > size:
        lines.fail(
            "mouth",
            f"{way} {start:g} mm to {stop:g} mm does not fit on a face that ends at "
            f"{size:g} mm",
        )
    else:
        return True
    return False


def _read_holes(
    lines: HeaderLines, positions_um: Fraction, length: float, width: float
) -> tuple[Hole, ...]:
    text = lines.text("holes")
    if text is None:
        return ()
    holes = []
    for part in (piece.strip() for piece in text.split(";")):
        numbers = [piece.strip() for piece in part.split(",")]
        if len(numbers) != 3:
            lines.fail(
                "holes",
                f"{shown(part)} is no hole; write along,across,diameter with decimal "
                "points, and ';' between holes",
            )
            continue
        try:
            along, across, diameter = (
                float(lines.um(number, positions_um) / UM_PER_MM) for number in numbers
            )
        except BadInput as problem:
            lines.fail("holes", str(problem))
            continue
        if not (0 <= along <= length and 0 <= across <= width):
            lines.fail("holes", f"the hole {shown(part)} is not on the face")
        elif not 0 < diameter < max(length, width):
            lines.fail("holes", f"the hole {shown(part)} cannot have that diameter")
        else:
            holes.append(Hole(along_mm=along, across_mm=across, diameter_mm=diameter))
    return tuple(holes)
