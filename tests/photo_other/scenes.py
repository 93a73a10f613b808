"""Which pictures there are: one block of words a scene, read into records."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face, Mouth

Difficulty = Literal["easy", "fair", "nasty"]
Toe = Literal["left", "right", "up", "down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One face, its ink and wear, and how the two pictures of it were taken."""

    name: str
    difficulty: Difficulty
    face: Face
    toe: Toe
    # metal
    metal: str = "light_iron"
    finish: str = "lengthwise"
    groove_um: float = 0.9
    patina: float = 0.25
    polish: float = 1.0
    round_mm: float = 1.0
    body_mm: float = 38.0
    body: str = "bare"
    # ink
    marker: str = "blue"
    scrawl: str = "zigzag"
    pitch_mm: float = 11.0
    nib_mm: float = 5.0
    tip: str = "bullet"
    nib_deg: float = 40.0
    dry: float = 0.0
    strength: float = 1.0
    # how it bore on the abrasive
    cut_um: float = 4.0
    load_um: float = 6.0
    crown_um: float = 0.0
    across_um: float = 0.0
    twist_um: float = 0.0
    ridge_um: float = 0.0
    ridge_at: float = 0.0
    ripple_um: float = 2.0
    rivet_um: float = 0.0
    rivet_along: float = 0.7
    lean: float = 0.0
    swarf: float = 0.15
    oil: float = 0.0
    # camera
    turn_deg: float = 0.0
    tilt_deg: float = 3.0
    tilt_from_deg: float = 0.0
    megapixels: float = 3.0
    wide: float = 4 / 3
    zoom: float = 0.85
    fill: float = 0.86
    aside: float = 0.0
    lens: float = 0.0
    apart: float = 1.0
    soft_px: float = 0.6
    shake_px: float = 0.0
    stops: float = 0.0
    grain: float = 1.0
    crisp: float = 0.5
    squeeze: float = 0.0
    quality: int = 90
    # place
    light: str = "even"
    light_before: str = ""
    bench: str = "planks"
    beside: str = ""
    finger: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shot:
    """The two pictures of a scene and what is true of them."""

    after: NDArray[np.uint8]
    before: NDArray[np.uint8]
    after_corners_px: NDArray[np.float64]
    """Toe-left, toe-right, heel-right, heel-left; pixel centres at integers."""
    before_corners_px: NDArray[np.float64]
    rubbed: NDArray[np.float64]
    """1 − ink after / ink before (by its thickness) of each cell of about 10 mm; NaN
    where there is no metal or never was ink."""
    contact_percent: float
    """Mean of rubbed over the metal of the cells that have a truth."""
    outline_whole: bool
    """Whether the whole outline lies free and in frame, in both pictures."""
    unknown: NDArray[np.float64]
    """Share of each cell where the after picture shows ink and metal alike."""


TABLE = """
brown_bench easy 250x60 up turn_deg=2 twist_um=40
quiet_black easy 240x56 down turn_deg=-4 metal=steel marker=black crown_um=-25
  bench=paper
red_plane easy 200x50 right body=blue turn_deg=3 marker=red crown_um=20 patina=0.1
green_block easy 150x40 up turn_deg=-3 marker=green pitch_mm=8 nib_mm=4 metal=steel
  bench=cloth ridge_um=25 ridge_at=0.2
violet_jack easy 355x64 left turn_deg=1 marker=violet twist_um=-60 megapixels=5
  bench=cloth
long_blue easy 560x73 up turn_deg=1 crown_um=-40 megapixels=5 bench=mat scrawl=loops
nearly_done easy 260x60 left load_um=22 crown_um=-14 cut_um=6 marker=black body=black
  bench=mat
untouched_steel easy 240x60 up cut_um=0 metal=steel swarf=0
all_gone easy 230x58 left cut_um=14 load_um=60 bench=steel
dark_black easy 250x62 down body=black turn_deg=5 metal=dark_iron patina=0.1
  marker=black twist_um=30 bench=paper
bronze_blue easy 180x45 up load_um=14 cut_um=6 metal=bronze across_um=12 bench=cloth
  beside=pen
brass_black easy 160x42 right metal=brass marker=black across_um=-14 bench=mat
lamp_soft easy 260x60 up turn_deg=6 tilt_deg=8 light=window marker=red ridge_um=30
  ridge_at=-0.4
chisel_nib easy 220x55 left tip=chisel nib_mm=6 marker=green crown_um=15 bench=sheet

light_touch fair 250x60 up cut_um=1.5 load_um=12 light=window tilt_deg=10
  finish=stippled bench=cloth
first_strokes fair 300x62 right load_um=1.5 crown_um=45 ripple_um=3 marker=red
  light=two tilt_deg=12 finish=stippled body=black bench=paper
open_mouth fair 190x45 up mouth=open metal=bronze marker=black light=lamp tilt_deg=14
  twist_um=22 bench=mat
stippled_violet fair 245x60 down finish=stippled patina=0.4 lean=0.7 marker=violet
  light=window twist_um=20 tilt_deg=13 body=blue bench=steel
tilt_window fair 250x60 down turn_deg=12 tilt_deg=18 light=window twist_um=45
side_lamp fair 280x62 left turn_deg=-9 tilt_deg=15 tilt_from_deg=40 light=lamp
  marker=black crown_um=25 beside=pen bench=sheet
two_lights fair 240x58 up load_um=2.5 turn_deg=-14 tilt_deg=12 light=two marker=violet
  metal=steel twist_um=-35 bench=mat beside=rule scrawl=lines
milled_red fair 350x62 right finish=milled marker=red light=window tilt_deg=14
  crown_um=-30 groove_um=1.4 megapixels=6
paper_clutter fair 230x56 down turn_deg=10 bench=sheet beside=rule,pen light=lamp
  tilt_deg=10 ridge_um=28 ridge_at=0.5
crossed_green fair 250x65 up scrawl=crossed marker=green turn_deg=15 light=window
  twist_um=25 bench=cloth
lengthways fair 300x60 left scrawl=lengthwise marker=black pitch_mm=9 metal=steel
  light=two across_um=15 tilt_deg=16 tilt_from_deg=-30
loops_violet fair 200x52 up scrawl=loops marker=violet nib_mm=4 light=lamp
  turn_deg=-12 crown_um=22
untouched_lamp fair 260x60 right cut_um=0 light=lamp marker=black tilt_deg=16
  tilt_from_deg=20 swarf=0
worn_window fair 300x60 up cut_um=14 load_um=60 light=window marker=violet tilt_deg=15
  bench=sheet
long_jointer fair 600x76 left turn_deg=3 megapixels=8 light=window twist_um=90
  tilt_deg=10 beside=rag
proud_rivet fair 210x54 up rivet_um=45 metal=bronze light=window cut_um=5 bench=steel
  load_um=3
old_iron fair 250x60 left load_um=2 body=black metal=dark_iron patina=0.5 marker=red
  light=window crown_um=-20 tilt_deg=12 bench=paper
hdr_phone fair 245x60 up squeeze=0.35 crisp=1.1 marker=green light=two tilt_deg=18
  ridge_um=22 ridge_at=-0.3 megapixels=12 quality=85
thin_lines fair 220x55 right scrawl=lines nib_mm=2.5 pitch_mm=7 marker=black
  light=window twist_um=30 turn_deg=8 metal=brass
barrel fair 340x62 up lens=-0.06 light=window crown_um=30 tilt_deg=12 turn_deg=16
  megapixels=4 bench=mat
crosswise_steel fair 240x58 left finish=crosswise metal=steel light=window tilt_deg=12
  twist_um=-30 bench=cloth

glare_streak nasty 250x60 up light=glare polish=0.5 metal=steel marker=black
  tilt_deg=22 twist_um=40 turn_deg=8 bench=cloth
glare_violet nasty 230x58 left light=glare polish=0.6 marker=violet tilt_deg=16
  tilt_from_deg=60 crown_um=20 light_before=window
hand_over nasty 250x62 up light=hand tilt_deg=14 turn_deg=-16 twist_um=35
steep nasty 300x60 up load_um=2 tilt_deg=35 light=window marker=red turn_deg=18
  crown_um=18 bench=sheet beside=rule finish=crosswise
steep_side nasty 260x60 left tilt_deg=33 tilt_from_deg=70 light=two marker=black
  metal=dark_iron twist_um=-50 bench=mat
dark_on_dark nasty 250x60 right metal=dark_iron patina=0.7 marker=black light=lamp
  bench=steel tilt_deg=16 crown_um=-18 grain=2
dim_grain nasty 240x58 up light=dim grain=4 quality=72 shake_px=3 ridge_um=25
  megapixels=2 bench=sheet
dried_pen nasty 245x60 left dry=0.8 marker=green tip=chisel light=lamp tilt_deg=18
  twist_um=28 bench=shavings turn_deg=-18
faint_violet nasty 220x55 down strength=0.45 dry=0.4 marker=violet light=two
  metal=steel across_um=10 tilt_deg=15
oily nasty 255x60 right load_um=2.5 oil=0.9 swarf=0.8 light=window tilt_deg=20
  crown_um=22 bench=steel beside=rag scrawl=loops
wet_swarf nasty 245x60 up swarf=1.0 oil=0.5 marker=black light=two tilt_deg=18
  crown_um=-18 turn_deg=12 finish=stippled bench=mat body=black
light_touch_glare nasty 250x60 left cut_um=1.4 load_um=10 light=glare polish=0.7
  marker=red metal=steel tilt_deg=20 finish=stippled
hand_black nasty 240x58 right light=hand marker=black metal=dark_iron tilt_deg=18
  crown_um=18 bench=cloth turn_deg=10 grain=1.8
pitted_rust nasty 230x57 up finish=pitted patina=0.95 metal=dark_iron marker=black
  twist_um=-35 light=window bench=shavings tilt_deg=15
cut_off nasty 350x64 left fill=1.16 aside=0.06 light=window tilt_deg=12 twist_um=40
  turn_deg=5 scrawl=lengthwise
finger_on nasty 220x56 up finger=0.6 marker=red light=two tilt_deg=18 crown_um=15
glare_unrubbed nasty 250x60 down light=glare polish=0.6 cut_um=0 metal=steel
  tilt_deg=20 swarf=0.05
glare_worn nasty 240x60 up light=glare polish=0.6 cut_um=14 load_um=60 marker=black
  tilt_deg=18 turn_deg=-10 bench=mat
bright_bronze nasty 190x46 up metal=bronze patina=0.8 marker=red light=lamp
  tilt_deg=20 tilt_from_deg=-50 ridge_um=20 bench=cloth beside=pen,rule scrawl=crossed
blown nasty 235x58 left stops=2.3 light=window marker=green metal=steel tilt_deg=16
  twist_um=30 bench=paper
murky nasty 235x58 down load_um=14 cut_um=6 stops=-3 light=lamp marker=black
  metal=dark_iron tilt_deg=12 crown_um=14 grain=2.5 bench=mat
other_day nasty 250x60 up light=lamp light_before=window tilt_deg=24 turn_deg=-20
  twist_um=-32 apart=3 beside=pen
soft_focus nasty 250x60 left soft_px=4.5 crisp=0.2 quality=68 marker=violet light=two
  tilt_deg=20 ridge_um=25 ridge_at=0.1 metal=brass scrawl=lines
tiny_edge nasty 150x40 up turn_deg=20 tilt_deg=30 tilt_from_deg=-25 light=lamp
  marker=black metal=steel bench=steel beside=rule twist_um=18 pitch_mm=8 nib_mm=3
  finish=milled
jointer_glare nasty 600x76 right light=glare marker=black tilt_deg=20 twist_um=70
  megapixels=12 finish=milled
"""
"""Name, difficulty, size, where the toe lies, then what differs from the defaults."""


def scenes() -> tuple[Scene, ...]:
    """Give every scene of the table, in its order."""
    found: list[Scene] = []
    rows = TABLE.replace("\n  ", " ").split("\n")
    kinds = {one.name: str(one.type) for one in fields(Scene)}
    for row in rows:
        if not row:
            continue
        name, difficulty, size, toe, *rest = row.split()
        told = dict(word.split("=") for word in rest)
        long, wide = (float(number) for number in size.split("x"))
        front, sides = 0.27 * long, (0.09 * wide, 0.91 * wide)
        if told.pop("mouth", "") == "open":
            sides = (0.0, wide)
        mouth = Mouth(
            from_mm=front, to_mm=front + 6, left_mm=sides[0], right_mm=sides[1]
        )
        values: dict[str, Any] = {}
        for key, text in told.items():
            kind = kinds[key]
            values[key] = (
                int(text) if kind == "int" else float(text) if kind == "float" else text
            )
        values["name"], values["difficulty"], values["toe"] = name, difficulty, toe
        values["face"] = Face(length_mm=long, width_mm=wide, mouth=mouth)
        found.append(Scene(**values))
    return tuple(found)
