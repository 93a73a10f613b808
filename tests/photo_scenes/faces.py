"""The soles and sides that are photographed; all of them are invented."""

from __future__ import annotations

from lapping.face import Face, Hole, Mouth

BLOCK = Face(
    length_mm=150,
    width_mm=40,
    mouth=Mouth(from_mm=42, to_mm=46, left_mm=4, right_mm=36),
)
SMALL_SMOOTHER = Face(
    length_mm=184,
    width_mm=48,
    mouth=Mouth(from_mm=60, to_mm=65, left_mm=5, right_mm=43),
)
SMOOTHER = Face(
    length_mm=245,
    width_mm=62,
    mouth=Mouth(from_mm=80, to_mm=86, left_mm=5.5, right_mm=56.5),
)
BROAD_SMOOTHER = Face(
    length_mm=265,
    width_mm=76,
    mouth=Mouth(from_mm=86, to_mm=92, left_mm=7, right_mm=69),
)
SHOULDER = Face(length_mm=205, width_mm=40, mouth=Mouth(from_mm=64, to_mm=68))
JACK = Face(
    length_mm=356,
    width_mm=62,
    mouth=Mouth(from_mm=106, to_mm=113, left_mm=6, right_mm=56),
)
FORE = Face(
    length_mm=457,
    width_mm=73,
    mouth=Mouth(from_mm=140, to_mm=147, left_mm=7, right_mm=66),
)
JOINTER = Face(
    length_mm=600,
    width_mm=76,
    mouth=Mouth(from_mm=190, to_mm=197, left_mm=7, right_mm=69),
)
SCREWED = Face(
    length_mm=230,
    width_mm=55,
    mouth=Mouth(from_mm=74, to_mm=79, left_mm=5, right_mm=50),
    holes=(
        Hole(along_mm=22, across_mm=27.5, diameter_mm=7),
        Hole(along_mm=128, across_mm=14, diameter_mm=6),
        Hole(along_mm=128, across_mm=41, diameter_mm=6),
    ),
)
SIDE = Face(length_mm=200, width_mm=60, kind="side", left_edge="sole")
HIGH_SIDE = Face(
    length_mm=215,
    width_mm=64,
    kind="side",
    left_edge="top",
    holes=(Hole(along_mm=150, across_mm=30, diameter_mm=9),),
)
