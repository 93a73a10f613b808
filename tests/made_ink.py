"""Ink as it would be rubbed off a made-up face, for the tests: pressed, pushed, seen.

A rigid face lies on an elastic bed (Winkler, 1867) under a hand that swings during the
stroke; ink goes as 1 − exp(−dose × pressure). Nothing here comes from `lapping` but
the map that the shares are put into.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import ContactMap, contact_map, squares
from lapping.face import Face
from tests.made_readings import Shape

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Hand:
    """How a face was pressed and pushed.

    ``sinks_um`` is how deep a flat face would sink; ``swing`` how far the load moves
    to either side in a stroke and ``off`` how far its middle lies from the face's, as
    shares of length and width.
    """

    sinks_um: float
    dose: float
    swing: float = 0.0
    off: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What the photo does to the shares: noise, a slip of the scale, and gaps."""

    noise: float = 0.0
    patchy: float = 0.0
    scale: float = 1.0
    gaps: float = 0.0
    u: float = 0.05


def sinking(
    height: Array, along: Array, across: Array, load: Array, deep: float
) -> Array:
    """Give how deep each place is pressed in, by Newton on the elastic energy.

    Places are in shares of the face from -0.5 to 0.5; force and both moments about
    ``load`` balance, and a flat face under its middle sinks ``deep``.
    """
    terms = np.column_stack([np.ones_like(along), along, across])
    force = deep * np.array([1.0, load[0], load[1]])

    def pressed(p: Array) -> Array:
        return np.maximum(height + terms @ p, 0.0)

    def energy(p: Array) -> float:
        return float(0.5 * np.mean(pressed(p) ** 2) - force @ p)

    plane = np.array([deep - float(np.median(height)), 0.0, 0.0])
    for _ in range(200):
        ind = pressed(plane)
        slope = terms.T @ ind / ind.size - force
        if np.abs(slope).max() < 1e-9 * deep:
            break
        touching = terms[ind > 0]
        bend = touching.T @ touching / ind.size + 1e-9 * np.eye(3)
        step = -np.linalg.solve(bend, slope)
        size = 1.0
        while energy(plane + size * step) > energy(plane) + 1e-4 * size * (
            slope @ step
        ):
            size /= 2
            if size < 1e-9:
                break
        plane = plane + size * step
    return pressed(plane)


def rubbed_off(face: Face, shape: Shape, hand: Hand) -> Array:
    """Give the share of ink gone from each small square of the face."""
    rows, columns = squares(face)
    a, c = np.meshgrid(
        (np.arange(rows) + 0.5) / rows - 0.5,
        (np.arange(columns) + 0.5) / columns - 0.5,
        indexing="ij",
    )
    along = (a + 0.5) * face.length_mm
    across = (c + 0.5) * face.width_mm
    height = shape(along, across)
    metal = np.vectorize(face.is_metal)(along, across)
    flat_a, flat_c, flat_h = a[metal], c[metal], height[metal]
    flat_h = flat_h - flat_h.mean()
    total = np.zeros(flat_h.size)
    shifts = np.linspace(-1, 1, 5) if hand.swing else np.zeros(1)
    for shift in shifts:
        load = np.array([hand.off[0] + hand.swing * shift, hand.off[1]])
        total += sinking(flat_h, flat_a, flat_c, load, hand.sinks_um) / len(shifts)
    gone = np.full(a.shape, np.nan)
    gone[metal] = 1 - np.exp(-hand.dose * total / hand.sinks_um)
    return gone


def ink_map(
    rng: np.random.Generator, face: Face, shape: Shape, hand: Hand, seen: Seen
) -> ContactMap:
    """Give the contact map of a face that was pressed and photographed."""
    gone = rubbed_off(face, shape, hand)
    rows, columns = gone.shape
    a, c = np.meshgrid(np.arange(rows), np.arange(columns), indexing="ij")
    blotch = np.zeros(gone.shape)
    for _ in range(8):
        # Waves of 30 to 150 mm in any direction: light and ink that were not even.
        way = rng.uniform(0, 2 * np.pi)
        wave = 2 * np.pi * 2.5 / rng.uniform(30, 150)
        blotch += np.cos(
            wave * (a * np.cos(way) + c * np.sin(way)) + rng.uniform(0, 2 * np.pi)
        )
    shown = seen.scale * gone + seen.patchy * blotch / 2
    shown = shown + seen.noise * rng.standard_normal(gone.shape)
    visible = np.ones(gone.shape)
    wanted = seen.gaps
    for _ in range(60):
        if 1 - visible.mean() >= wanted:
            break
        i, j = rng.uniform(0, rows), rng.uniform(0, columns)
        wide, high = rng.uniform(2, 14), rng.uniform(2, 8)
        visible[((a - i) / wide) ** 2 + ((c - j) / high) ** 2 < 1] = 0.0
    left = np.clip(1 - np.nan_to_num(shown), 0.0, 1.0)
    return contact_map(
        face,
        ink=left,
        was=np.ones(gone.shape),
        seen=visible,
        u=seen.u,
        baseline="before photo",
    )
