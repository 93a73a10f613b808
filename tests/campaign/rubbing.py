"""A run of strokes: heat, pressure, wear, and a sheet that ages."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.campaign.body import Body
from tests.campaign.contact import Array, Cushion, dish_um, settle
from tests.campaign.surroundings import Hand, Sheet, Surface

POSITIONS = 8
STEP = 10
"""Strokes worked out with one pressure."""
USUAL_KPA = 5.0
USUAL_MM = 250.0
USUAL_N = 60.0
CENTRED = 0.46
"""Nobody's load leaves the face: it stays within this share of its size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Where along and across the lap the face goes, and how it lies there."""

    along_mm: float
    across_mm: float
    toe_right: bool = False


def rub(
    body: Body,
    lap: Surface,
    cushion: Cushion,
    sheet: Sheet,
    hand: Hand,
    strokes: int,
    *,
    way: Way,
    toward: tuple[float, float] = (0.0, 0.0),
) -> Iterator[int]:
    """Rub, and give the strokes made after every few, with the body up to date.

    ``toward`` moves the load along and across, in mm, where the hand was told to bear.
    """
    share = hand.load_n / USUAL_N * hand.stroke_mm / USUAL_MM
    wears, dish = body.wears(), np.zeros_like(body.height_um)
    pressed = _pressed(body, hand, toward, way=way)
    under, bears = _under(body, lap, hand, way)
    pose: Array | None = None
    done = 0
    sheet.brush()
    while done < strokes:
        now = min(STEP, strokes - done)
        body.heat(now / hand.per_minute, share * hand.per_minute / 40.0)
        top = body.lapped_um() - dish + under
        kpa, pose = settle(body.cells, cushion, top, bears, hand.load_n, pressed, pose)
        mean = kpa.mean(axis=0)
        dish = 0.5 * (dish + dish_um(body.cells, cushion, mean))
        cut = sheet.make.fresh_um(sheet.grade) * sheet.cuts * now / 100
        power = sheet.make.by_pressure
        taken = (kpa / USUAL_KPA) ** power
        gone = cut * hand.stroke_mm / USUAL_MM * wears * taken.mean(axis=0)
        body.height_um = body.height_um - gone
        body.removed_um = body.removed_um + gone
        sheet.strokes += now * share
        sheet.swarf_um += float(gone.mean()) * body.metal.loads
        done += now
        yield done


def _phase() -> Array:
    return np.asarray(2 * np.pi * (np.arange(POSITIONS) + 0.5) / POSITIONS)


def _pressed(body: Body, hand: Hand, toward: tuple[float, float], *, way: Way) -> Array:
    """Give the place of the load in each part of a push and its return."""
    face, phase = body.face, _phase()
    turn = -1.0 if way.toe_right else 1.0
    along = turn * (hand.off_along + hand.swing * np.cos(phase)) * face.length_mm
    across = turn * (hand.off_mm + hand.rock_mm * np.sin(phase))
    middle = float(body.cells.along_mm.mean())
    return np.stack(
        [
            middle + np.clip(along + toward[0], *_within(face.length_mm)),
            face.width_mm / 2 + np.clip(across + toward[1], *_within(face.width_mm)),
        ],
        axis=1,
    )


def _within(size_mm: float) -> tuple[float, float]:
    return -CENTRED * size_mm, CENTRED * size_mm


def _under(
    body: Body, lap: Surface, hand: Hand, way: Way
) -> tuple[Array, NDArray[np.bool_]]:
    """Give the lap's height under every cell in each position, and where there is any.

    Face down the across of the face runs the other way on the lap.
    """
    cells, face, phase = body.cells, body.face, _phase()
    reach = np.arccos(np.cos(phase)) / np.pi - 0.5
    start = way.along_mm + reach * hand.stroke_mm
    wander = 0.15 * lap.width_mm * np.sin(2.4 * np.arange(POSITIONS))
    turn = -1.0 if way.toe_right else 1.0
    along = turn * (cells.along_mm - face.length_mm / 2)
    across = -turn * (cells.across_mm - face.width_mm / 2)
    where = start[:, None] + along[None, :]
    room = max((lap.width_mm - face.width_mm) / 2, 0.0)
    aside = np.clip(way.across_mm - lap.width_mm / 2 + wander, -room, room)
    beside = lap.width_mm / 2 + aside[:, None] + across[None, :]
    bears = (where >= 0) & (where <= lap.length_mm)
    return lap.at_um(where, beside), np.asarray(bears)
