"""Every place on a face in words that are used at the bench.

Along the face the bands are, in order: the toe, *behind the toe*, *ahead of the mouth*
(the land), *beside the mouth*, *behind the mouth* (as long as the land), the *middle*
and the heel. Without a mouth all between toe and heel is the middle. Across it they are
the two edges, left and right of centre, and the centre.
"""

from __future__ import annotations

from lapping.face import LAND_MM, Face

CENTRE_SHARE = 0.1
"""The centre reaches this share of the width to either side of the centre line."""


def place_words(face: Face, along_mm: float, across_mm: float) -> str:
    """Say where a place is: ``toe-left corner``, ``behind the mouth, right edge``."""
    if not face.on_outline(along_mm, across_mm):
        return "off the face"
    if face.in_mouth(along_mm, across_mm):
        return "in the mouth"
    if face.in_hole(along_mm, across_mm) is not None:
        return "in a hole"
    band, end = _along_words(face, along_mm)
    left, right = _edge_zones(face)
    if across_mm <= left:
        edge = 0
    elif across_mm >= right:
        edge = 1
    else:
        return f"{band}, {_off_edge_words(face, across_mm)}"
    if end is not None:
        return f"{_corner(face, end, edge)} corner"
    return f"{band}, {edge_names(face)[edge]}"


def corner_names(face: Face) -> tuple[str, str, str, str]:
    """Name the corners in the order toe-left, toe-right, heel-right, heel-left."""
    return (
        _corner(face, 0, 0),
        _corner(face, 0, 1),
        _corner(face, 1, 1),
        _corner(face, 1, 0),
    )


def end_names(face: Face) -> tuple[str, str]:
    """Name the end where along is 0 and the other one."""
    return ("left end", "right end") if face.kind == "lap" else ("toe", "heel")


def edge_names(face: Face) -> tuple[str, str]:
    """Name the edge where across is 0 and the other one."""
    left, right = _sides(face)
    return f"{left} edge", f"{right} edge"


def _sides(face: Face) -> tuple[str, str]:
    if face.kind == "lap":
        # "left" is taken by the left end, and a lap is met from its long side.
        return "near", "far"
    if face.kind == "side" and face.left_edge is not None:
        return ("sole", "top") if face.left_edge == "sole" else ("top", "sole")
    return "left", "right"


def _corner(face: Face, end: int, edge: int) -> str:
    first = end_names(face)[end].removesuffix(" end")
    return f"{first}-{_sides(face)[edge]}"


def _edge_zones(face: Face) -> tuple[float, float]:
    """Give where the edge zone at across 0 ends and where the other begins."""
    zones = {zone.name: zone for zone in face.zones()}
    return zones["left edge"].across_to_mm, zones["right edge"].across_from_mm


def _off_edge_words(face: Face, across_mm: float) -> str:
    off_centre = across_mm - face.width_mm / 2
    if abs(off_centre) <= CENTRE_SHARE * face.width_mm:
        return "centre"
    if face.kind == "lap" or (face.kind == "side" and face.left_edge is not None):
        return f"towards the {edge_names(face)[0 if off_centre < 0 else 1]}"
    return "left of centre" if off_centre < 0 else "right of centre"


def _along_words(face: Face, along_mm: float) -> tuple[str, int | None]:
    """Give the band along the face, and 0 or 1 if it is one of the two ends."""
    zones = {zone.name: zone for zone in face.zones()}
    first, last = end_names(face)
    in_first = along_mm <= zones[first].along_to_mm
    in_last = along_mm >= zones[last].along_from_mm
    mouth = face.mouth
    if mouth is not None:
        # On a short toe or heel the zones overlap: the nearer name says more.
        ahead, behind = mouth.from_mm - along_mm, along_mm - mouth.to_mm
        if ahead < 0 < -behind:
            return "beside the mouth", None
        if 0 <= ahead <= LAND_MM and not (in_first and along_mm <= ahead):
            return "ahead of the mouth", None
        to_end = face.length_mm - along_mm
        if 0 <= behind <= LAND_MM and not (in_last and to_end <= behind):
            return "behind the mouth", None
    if in_first:
        return first, 0
    if in_last:
        return last, 1
    if mouth is not None and along_mm < mouth.from_mm:
        return "behind the toe", None
    return "middle", None
