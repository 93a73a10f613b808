"""Put a face's four corners in order: which end is the toe.

The order is toe-left, toe-right, heel-right, heel-left, seen face up with the toe
pointing away; a photo never mirrors. The person says where the toe lies in the
picture, or the dark slot of the mouth shows it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.outline_lines import middle_of
from lapping.photo.outline_picture import Picture
from lapping.photo.outline_pose import pose_fit
from lapping.photo.sampling import Values
from lapping.photo.slots import slots, straightened
from lapping.places import corner_names, end_names

Array = NDArray[np.float64]
Toe = Literal["left", "right", "up", "down"]

TOES: tuple[Toe, ...] = get_args(Toe)
WAYS = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "up": (0.0, -1.0), "down": (0.0, 1.0)}
ACROSS: dict[Toe, Toe] = {"left": "right", "right": "left", "up": "down", "down": "up"}
SOUND_COST = 12.0
"""A misfit to a rectangle (`pose_fit`) that may be: this one is a ratio 7 % off."""
SLOTS_MM = (3.0, 4.5, 6.5, 9.0)
SLIDE_MM = 2.5
CLEAR, CLEARER = 0.06, 0.05
CENTRAL_MM = 12.0
APART_MM = 15.0
SURE = 0.9
ASLANT = 0.5
"""A toe that points more than 60 degrees aside, by its cosine, does not lie there."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ordered:
    """Corners in order (4, 2), how sure that is (0 to 1), and what to know of it."""

    corners_px: Array
    confidence: float
    warnings: tuple[str, ...]

    def __post_init__(self) -> None:
        """Keep the corners from being changed."""
        self.corners_px.setflags(write=False)


def corners_in_order(
    picture: Picture,
    corners_px: Array,
    face: Face,
    toe: Toe | None = None,
    *,
    may_be_turned: bool = False,
) -> Ordered:
    """Give the corners in order; BadInput where the toe has to be told.

    ``corners_px`` (4, 2) go round in either direction from any corner; ``toe`` is
    where the toe lies in the picture, and is refused where the mouth plainly says
    otherwise. ``may_be_turned`` only warns of that.
    """
    around = _clockwise(np.asarray(corners_px, dtype=np.float64))
    shape = picture.shape[0], picture.shape[1]
    turned = [np.roll(around, -start, axis=0) - middle_of(shape) for start in (0, 1)]
    ratio = face.length_mm / face.width_mm
    cost = pose_fit(np.stack(turned), ratio, max(shape)).cost
    if toe is None:
        return _by_mouth(picture, np.roll(around, -int(cost.argmin()), axis=0), face)
    side = _side_towards(around, toe)
    if cost[side % 2] > max(SOUND_COST, cost[1 - side % 2]):
        runs = "left and right" if toe in ("up", "down") else "up and down"
        message = (
            f"the toe cannot lie {toe} in this picture: the face, "
            f"{face.length_mm:g} mm long and {face.width_mm:g} mm wide, runs {runs}. "
            "Say again where the toe lies (--toe), or give length and width the other "
            "way round if they have changed places"
        )
        raise BadInput(message)
    ordered = np.roll(around, -side, axis=0)
    doubt = _contradicted(picture, ordered, face, toe)
    if doubt and face.mouth is not None and not may_be_turned:
        raise BadInput(doubt)
    return Ordered(
        corners_px=ordered, confidence=1.0, warnings=(doubt,) if doubt else ()
    )


def check_toe(corners_px: Array, face: Face, toe: Toe) -> None:
    """Refuse what is said of the toe where corners given in order say otherwise."""
    corners = np.asarray(corners_px, np.float64)
    way = corners[:2].mean(axis=0) - corners.mean(axis=0)
    cosine = {one: float(np.dot(way, WAYS[one])) for one in TOES}
    if cosine[toe] < ASLANT * float(np.linalg.norm(way)):
        seen = max(TOES, key=lambda one: cosine[one])
        message = (
            f"by the corners given the {end_names(face)[0]} lies {seen} in the photo, "
            f"and --toe {toe} was said: begin the corners with "
            f"{corner_names(face)[0]}, or leave --toe out"
        )
        raise BadInput(message)


def _contradicted(picture: Picture, ordered: Array, face: Face, toe: Toe) -> str:
    """Doubt what was said of the toe where a slot is plainly at the other end."""
    if face.mouth is None and face.kind != "sole":
        return ""
    try:
        seen = _by_mouth(picture, ordered, face)
    except BadInput:
        # The mouth does not tell, so it does not speak against what was said.
        return ""
    if np.allclose(seen.corners_px, ordered) or seen.confidence < SURE:
        return ""
    other, mouth = ACROSS[toe], face.mouth
    first, last = end_names(face)
    if mouth is None:
        return (
            f"a dark slot is plainly seen nearer to the end said to be the {last}: if "
            f"it is the mouth, the {first} lies {other} (--toe {other})"
        )
    start, stop = face.length_mm - mouth.to_mm, face.length_mm - mouth.from_mm
    return (
        f"--toe {toe} was said, but the mouth, {mouth.from_mm:g} to {mouth.to_mm:g} mm "
        f"from the {first}, is plainly seen as if the {first} lay {other}: say --toe "
        f"{other} if it does; if it lies {toe}, the mouth is {start:g} to {stop:g} mm "
        "from it, so correct that; or give --corners"
    )


def _clockwise(corners: Array) -> Array:
    x, y = corners.T
    area = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    return corners if area > 0 else corners[::-1].copy()


def _side_towards(around: Array, toe: Toe) -> int:
    """Say which side (of 4) of a quad lies that way in the picture."""
    sides = (around + np.roll(around, -1, axis=0)) / 2 - around.mean(axis=0)
    cosine = sides @ np.array(WAYS[toe]) / np.linalg.norm(sides, axis=1)
    return int(cosine.argmax())


def _by_mouth(picture: Picture, around: Array, face: Face) -> Ordered:
    """Tell the toe by the slot of the mouth."""
    ask = "say where the toe lies in the picture: --toe left, right, up or down"
    grey = straightened(picture, around, face)
    mouth = face.mouth
    if mouth is None and face.kind != "sole":
        message = f"nothing on a {face.kind} tells one end from the other; {ask}"
        raise BadInput(message)
    if mouth is None:
        return _by_any_slot(around, face, grey, ask)
    middle = (mouth.from_mm + mouth.to_mm) / 2
    if abs(face.length_mm / 2 - middle) < CENTRAL_MM / 2:
        message = f"the mouth is in the middle and does not tell the toe; {ask}"
        raise BadInput(message)
    wide = mouth.to_mm - mouth.from_mm
    near = middle + np.arange(-SLIDE_MM, SLIDE_MM + 0.1, 0.5)
    both = slots(grey, np.concatenate([near, face.length_mm - near]), wide)
    here, there = both.reshape(2, -1).max(axis=1).tolist()
    best = max(here, there)
    if best < CLEAR or abs(here - there) < CLEARER:
        message = (
            f"the mouth at {mouth.from_mm:g} to {mouth.to_mm:g} mm from the toe cannot "
            f"be told in the photo; {ask}"
        )
        raise BadInput(message)
    return Ordered(
        corners_px=around if here > there else np.roll(around, -2, axis=0),
        confidence=_confidence(abs(here - there)),
        warnings=(),
    )


def _by_any_slot(around: Array, face: Face, grey: Values, ask: str) -> Ordered:
    """Tell the toe by the clearest slot, wherever it is."""
    places = np.arange(APART_MM, face.length_mm - APART_MM, 1.0)
    clear = np.max([slots(grey, places, wide) for wide in SLOTS_MM], axis=0)
    if clear.size == 0 or clear.max() < CLEAR:
        message = f"no mouth is to be seen, so the photo does not tell the toe; {ask}"
        raise BadInput(message)
    best = int(clear.argmax())
    middle = float(places[best])
    others = clear[np.abs(places - middle) > APART_MM]
    lead = float(clear[best] - max(others.max(initial=0.0), 0.0))
    if lead < CLEARER or abs(middle - face.length_mm / 2) < CENTRAL_MM:
        message = f"the photo does not tell the toe for certain; {ask}"
        raise BadInput(message)
    toe_first = middle < face.length_mm / 2
    from_toe = middle if toe_first else face.length_mm - middle
    return Ordered(
        corners_px=around if toe_first else np.roll(around, -2, axis=0),
        confidence=_confidence(lead),
        warnings=(
            f"the end nearer to the dark slot, {from_toe:.0f} mm from it, is taken for "
            "the toe; say so with --toe, or give the mouth, to be sure",
        ),
    )


def _confidence(lead: float) -> float:
    return float(1 - 0.5 * np.exp(-lead / CLEARER))
