"""What a pretended photo is made from: every choice that a scene can make.

Nothing here draws. Lengths are mm on the face, angles are degrees, lights are told in
shares of an ordinary room, and pixels are pixels of the picture.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face

Array = NDArray[np.floating[Any]]
Difficulty = Literal["easy", "fair", "nasty"]
Toe = Literal["up", "down", "left", "right"]
Marker = Literal["black", "blue", "red", "green", "purple", "brown"]
Blend = Literal["areal", "density", "display"]
MetalKind = Literal[
    "ground iron",
    "lapped iron",
    "dark iron",
    "rusty iron",
    "patinated iron",
    "milled iron",
    "ground steel",
    "polished steel",
    "brushed steel",
    "bronze",
    "dull bronze",
]
Course = Literal["across", "along", "slanted", "crossed", "loops"]
Pattern = Literal[
    "none", "all", "even", "twist", "crown", "hollow", "rim", "left", "right",
    "toe", "heel", "patchy", "spot", "ripple", "strip", "ends and land",
]  # fmt: skip
Shade = Literal["none", "hand", "phone", "hard edge", "bars"]
Ground = Literal[
    "pale wood", "dark wood", "cloth", "print", "mat", "stone", "grit", "brown grit"
]
Tone = Literal["plain", "contrast", "phone", "flat"]

Triple = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scribble:
    """How the marker was drawn over the face.

    ``dry`` is how streaky the marker writes (0 is wet), ``margin_mm`` how far from the
    edges the hand stops (negative runs over them), ``missed`` the share of lines left
    out, ``coat`` how strongly the marker writes, ``blend`` how ink and metal mix.
    """

    course: Course = "across"
    line_mm: float = 4.0
    gap_mm: float = 1.5
    slant_deg: float = 0.0
    dry: float = 0.2
    margin_mm: float = 0.5
    coat: float = 1.0
    missed: float = 0.0
    blend: Blend = "areal"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """Where the face bore: ``share`` of it, falling off over ``edge_mm``.

    ``most`` and ``least`` are the shares rubbed off where it bore and where it did not;
    ``held`` is how much the ink holds on in scratches (0 rubs off evenly); ``swarf`` is
    a dark film left where it was rubbed.
    """

    pattern: Pattern
    share: float = 0.35
    edge_mm: float = 8.0
    most: float = 1.0
    least: float = 0.0
    held: float = 0.5
    stroke_deg: float = 90.0
    swarf: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """Lamp, window and room, as seen from the middle of the face.

    ``lamp_at_mm`` is (to the right, towards the heel, up); ``window_from_deg`` is where
    the window lies (0 is to the right, 90 towards the heel), ``window_up_deg`` how high
    it stands. ``lamp``, ``window`` and ``room`` are how much light each gives there.
    """

    lamp: float = 0.0
    lamp_at_mm: Triple = (-350.0, -250.0, 500.0)
    lamp_tint: Triple = (1.0, 0.86, 0.66)
    window: float = 0.0
    window_from_deg: float = 200.0
    window_up_deg: float = 35.0
    window_wide_deg: float = 40.0
    window_tint: Triple = (0.9, 0.97, 1.08)
    room: float = 1.0
    room_tint: Triple = (1.0, 1.0, 1.0)
    slope: float = 0.15
    shade: Shade = "none"
    shade_depth: float = 0.6
    shade_soft_mm: float = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """Where the phone was held and what its lens does.

    ``fill`` is the share of the frame that the face spans, ``shift`` how far off the
    middle it lies (shares of the frame), ``focal`` the focal length over the longer
    side of the picture, ``bow_percent`` how far the lens bows a straight line along
    the edge of the frame.
    """

    size_px: tuple[int, int] = (2600, 1950)
    toe: Toe = "left"
    turn_deg: float = 0.0
    tilt_deg: float = 6.0
    tilt_to_deg: float = 90.0
    fill: float = 0.82
    shift: tuple[float, float] = (0.0, 0.0)
    focal: float = 0.74
    bow_percent: float = 0.1
    vignette: float = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Developing:
    """What sensor and phone make of the light.

    ``rim_blur_px`` is blur that the lens adds towards the corners of the frame,
    ``flicker`` the depth of the bands that a flickering lamp leaves.
    """

    ev: float = 0.0
    white: tuple[float, float] = (1.0, 1.0)
    blur_px: float = 0.7
    motion_px: float = 0.0
    motion_deg: float = 30.0
    noise: float = 1.0
    tone: Tone = "plain"
    sharpen: float = 0.3
    smear: float = 0.0
    rim_blur_px: float = 0.0
    flicker: float = 0.0
    jpeg: int = 90


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One face, scribbled and rubbed, and how its two photos were taken.

    ``hand`` is how far apart the two photos are in pose, light and exposure (1 is what
    a careful hand does). ``before_light`` replaces the light of the earlier photo.
    ``round_mm`` is the radius of the face's corners and ``bevel_mm`` the width of the
    broken edge all round; both lie within the outline.
    """

    name: str
    difficulty: Difficulty
    face: Face
    seed: int
    marker: Marker
    metal: MetalKind
    scribble: Scribble = field(default_factory=Scribble)
    wear: Wear
    light: Light = field(default_factory=Light)
    camera: Camera = field(default_factory=Camera)
    developing: Developing = field(default_factory=Developing)
    ground: Ground = "pale wood"
    body_mm: float = 45.0
    finger: bool = False
    round_mm: float = 0.0
    bevel_mm: float = 0.3
    clutter: int = 0
    rivets: int = 0
    dings: int = 3
    hand: float = 1.0
    before_light: Light | None = None

    def stream(self, what: str) -> np.random.Generator:
        """Give the chance that decides one thing, apart from all the others."""
        return np.random.default_rng([self.seed, *what.encode()])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shot:
    """Both photos of a scene, and what is true of them.

    Pictures are BGR bytes, already coded as JPEG and decoded. Corners are toe-left,
    toe-right, heel-right, heel-left, with the middle of the first pixel at (0, 0).
    ``rubbed`` has a row for each 10 mm along and a column for each 10 mm across: the
    share of the ink rubbed off, NaN where there is no metal or never was ink.
    ``unknown`` is the share of a cell's metal that the photo afterwards cannot show
    (blown out, in deep shadow, behind a finger or out of frame).
    """

    scene: Scene
    after: NDArray[np.uint8]
    before: NDArray[np.uint8]
    after_corners_px: NDArray[np.float64]
    before_corners_px: NDArray[np.float64]
    rubbed: NDArray[np.float64]
    unknown: NDArray[np.float64]
    contact_percent: float
    outline_whole: bool
