"""Draw workshops: most are ordinary, and each kind has one thing the matter with it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lapping.face import Face, Mouth
from tests.campaign.angles import Square
from tests.campaign.body import METALS, Head, cut
from tests.campaign.contact import Array, Cells, Cushion
from tests.campaign.draw_tools import draw_gauges, draw_lap, draw_papers
from tests.campaign.leaves import make_leaves
from tests.campaign.surroundings import Hand, Surface
from tests.campaign.truth import zone_um
from tests.campaign.workshop import Workshop

KINDS = (
    *("plain", "paper", "rocking", "lap", "mapped", "off centre", "proud", "warm"),
    *("leaves", "edge", "coarse", "near"),
)
TARGETS: tuple[tuple[str | None, float], ...] = (
    (None, 80.0), (None, 80.0), ("±0.04mm", 80.0), ("0.08mm", 80.0), ("0.06mm", 60.0),
    ("0.1mm", 100.0), ("0.05mm", 50.0), ("0.13mm", 130.0),
)  # fmt: skip


def draw(number: int, seed: int, kind: str | None = None) -> Workshop:
    """Draw the workshop of this number; the kinds take turns unless one is named."""
    kind = kind or KINDS[number % len(KINDS)]
    rng = np.random.default_rng([seed, number, 0])
    warm = kind == "warm"
    metal = METALS[rng.choice(len(METALS), p=[0.6, 0.1, 0.1, 0.1, 0.1])]
    target, target_um = TARGETS[rng.integers(len(TARGETS))]
    if kind in ("leaves", "edge") and target_um < 80:
        target, target_um = "0.08mm", 80.0
    face = _draw_face(rng, kind)
    ratio = rng.uniform(2.5, 4.5)
    if kind == "near":
        ratio = rng.uniform(0.5, 1.6)
    elif rng.random() < 0.2:
        ratio = rng.uniform(1.3, 2.5)
    cells = cut(face)
    height = _draw_shape(rng, face, cells, ratio * target_um)
    heads = _draw_heads(rng, face, target_um) if kind == "proud" else ()
    for head in heads:
        apart = np.hypot(
            cells.along_mm - head.along_mm, cells.across_mm - head.across_mm
        )
        on = apart <= max(head.reach_mm, float(apart.min()) + 1e-6)
        height[on] += head.proud_um
    lap, better = draw_lap(rng, face, target_um, bad=kind in ("lap", "mapped"))
    papers, make, habit_strokes = draw_papers(rng, short=kind == "paper")
    hand = _draw_hand(rng, face, lap, kind)
    gauge, better_gauge = draw_gauges(rng, target_um, kind)
    square = None
    if kind == "off centre" or rng.random() < 0.2:
        square = Square(
            leaves=make_leaves(rng),
            length_mm=face.length_mm,
            height_mm=face.width_mm if face.kind == "side" else 42.0,
            starts_um=float(rng.choice([-1, 1]) * rng.uniform(30, 90)),
            error_um=float(rng.uniform(-5, 5)),
        )
    return Workshop(
        kind=kind,
        number=number,
        seed=seed,
        face=face,
        metal=metal,
        target_um=target_um,
        target=target,
        height_um=height,
        heads=heads,
        flex_um=float(rng.normal(0, 2.0) * (face.length_mm / 250) ** 1.5),
        thick_mm=float(rng.uniform(40, 60)),
        settles_min=float(rng.uniform(6, 20)),
        heating_k=float(rng.uniform(4, 8) if warm else rng.uniform(1.5, 5)),
        cushion=Cushion(
            sinks_um=float(np.exp(rng.uniform(*np.log((6, 35))))),
            power=float(rng.uniform(1.0, 1.6)),
            dish_um=float(rng.uniform(1, 6)),
            reach_mm=float(rng.uniform(5, 12)),
        ),
        lap=lap,
        better_lap=better,
        mapped=kind == "mapped",
        can_map=kind != "lap" or bool(rng.random() < 0.8),
        papers=papers,
        make=make,
        sheet_habit=habit_strokes,
        hand=hand,
        habit=int(rng.integers(10, 21)) * 10,
        turns=bool(rng.random() < 0.3) and kind != "off centre",
        gauge=gauge,
        better_gauge=better_gauge,
        square=square,
        square_every=int(rng.integers(1, 3)),
        pause_min=(
            float(rng.uniform(1, 3))
            if warm
            else float(rng.choice([2.0, 30.0, 700.0], p=[0.2, 0.3, 0.5]))
        ),
        mouth_every=3 if face.mouth is not None and rng.random() < 0.3 else None,
        mouth_mm=float(rng.uniform(0.3, 1.2)),
        bed_deg=float(rng.choice([45, 45, 45, 50, 38])),
        load_said=str(rng.choice(["light", "firm", "6 kg"])),
    )


def _draw_face(rng: np.random.Generator, kind: str) -> Face:
    long = kind == "warm" or rng.random() < 0.2
    length = round(float(rng.uniform(420, 610) if long else rng.uniform(180, 380)))
    if kind == "off centre" and rng.random() < 0.5:
        return Face(
            length_mm=float(length),
            width_mm=float(rng.integers(38, 60)),
            kind="side",
            left_edge="sole",
        )
    width = float(rng.integers(50, 76))
    front = round(length * float(rng.uniform(0.24, 0.36)))
    return Face(
        length_mm=float(length),
        width_mm=width,
        mouth=Mouth(from_mm=front, to_mm=front + 6, left_mm=5, right_mm=width - 5),
    )


def _draw_shape(
    rng: np.random.Generator, face: Face, cells: Cells, whole_um: float
) -> Array:
    """Draw a face with bows, twist, round lumps and a ripple, of this minimum zone."""
    a = 2 * cells.along_mm / face.length_mm - 1
    c = 2 * cells.across_mm / face.width_mm - 1
    bow, across, twist = rng.normal(0, (1.0, 0.25, 0.8))
    height = -bow * a**2 - across * c**2 + twist / 4 * a * c
    for _ in range(int(rng.integers(0, 4))):
        apart = np.hypot(
            cells.along_mm - rng.uniform(0, face.length_mm),
            cells.across_mm - rng.uniform(0, face.width_mm),
        )
        reach = float(np.exp(rng.uniform(*np.log((12, 45)))))
        height = height + rng.normal(0, 0.25) * np.exp(-0.5 * (apart / reach) ** 2)
    way = float(rng.uniform(0, np.pi))
    along = cells.along_mm * np.cos(way) + cells.across_mm * np.sin(way)
    wave = float(rng.uniform(40, 140))
    height = height + rng.uniform(0, 0.04) * np.sin(2 * np.pi * along / wave)
    return np.asarray(
        height * whole_um / zone_um(cells.along_mm, cells.across_mm, height)
    )


def _draw_heads(
    rng: np.random.Generator, face: Face, target_um: float
) -> tuple[Head, ...]:
    """Draw a proud corner, or a few rivets of harder metal away from the mouth."""
    proud = float(rng.uniform(0.4, 1.2) * target_um)
    length, width = face.length_mm, face.width_mm
    if rng.random() < 0.25:
        left = bool(rng.random() < 0.5)
        return (
            Head(
                where="heel-left corner" if left else "heel-right corner",
                along_mm=length - 5,
                across_mm=5.0 if left else width - 5,
                reach_mm=9.0,
                proud_um=proud,
                wears=1.0,
            ),
        )
    front = face.mouth.from_mm if face.mouth else length / 3
    places = [(front / 2, width / 2), (length * 0.6, width * 0.3),
              (length * 0.8, width * 0.7)]  # fmt: skip
    many = int(rng.integers(1, 4))
    return tuple(
        Head(
            where="a rivet",
            along_mm=round(2 * along) / 2,
            across_mm=round(2 * across) / 2,
            reach_mm=5.0,
            proud_um=proud * float(rng.uniform(0.6, 1.0)),
            wears=float(rng.uniform(0.5, 0.9)),
        )
        for along, across in places[:many]
    )


def _draw_hand(rng: np.random.Generator, face: Face, lap: Surface, kind: str) -> Hand:
    room = lap.length_mm - face.length_mm
    hand = Hand(
        load_n=float(
            rng.uniform(45, 85) * (face.length_mm * face.width_mm / 15000) ** 0.4
        ),
        stroke_mm=float(min(rng.uniform(180, 320), room + 0.1 * face.length_mm)),
        per_minute=float(rng.uniform(28, 50)),
        swing=float(rng.uniform(0.02, 0.11)),
        rock_mm=float(rng.uniform(1, 4)),
        off_mm=float(rng.normal(0, 0.4)),
        off_along=float(rng.normal(0, 0.02)),
        tires_mm=float(rng.uniform(0, 0.2)),
    )
    if kind == "rocking":
        hand = replace(hand, swing=float(rng.uniform(0.36, 0.44)))
    if kind == "off centre":
        side = float(rng.choice([-1, 1]))
        hand = replace(
            hand, off_mm=side * float(rng.uniform(0.06, 0.12)) * face.width_mm
        )
    return hand
