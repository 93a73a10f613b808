"""Are the scratches of the last grit gone? A close-up tells, if light and focus do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.directions import between_deg, direction_words
from lapping.errors import BadInput
from lapping.photo.ridges import BLOCKS_A_SIDE, SHORT_BLOCK, Ridges, grain, ridges
from lapping.photo.turned import Pixels

Array = NDArray[np.float64]
ScratchVerdict = Literal["gone", "still there", "cannot tell"]
Toe = Literal["up", "right", "down", "left"]

TOE_DEG: dict[Toe, float] = {"up": 0.0, "right": 90.0, "down": 180.0, "left": 270.0}
GONE_SHARE = 0.1
"""Below this share of the energy (a third of the depth) the last grit's scratches
count as gone; common practice, no source."""
LEAST_APART_DEG = 20.0
LEAST_CLEAR = 0.5
"""The scratches must have this much energy beside what all directions have."""
LEAST_FINE = 0.04
"""If less than this of a direction's energy is finer than 10 px, it is blurred."""
MATTERS = 0.2
"""A direction with less of the energy than this is too weak to tell blur by."""
SOFTER = 3.0
"""Scratches eight times as wide differ by less than this on made surfaces."""
LEAST_BLOCKS = 6
DIRT = 8.0
"""A block this many times as far above the usual as is usual shows dirt."""
METHOD_SHARE = 0.02
"""Standard uncertainty of the method itself: measured on made surfaces, see tests."""
LOPSIDED = 0.35
ASKEW_DEG = 5.0
LEAST_CONTRAST = 0.002
"""Scratches fainter than this share of the brightness are less than a grey step."""
PATCHES = 12
MOST_UNEVEN_LIGHT = 0.15
"""Brightness of a close-up's PATCHES a side, in logarithms, scatters by less about
what a lamp makes of it (a curved slope): 0.12 on the dirtiest made surfaces, while
made photos with a bench in them scatter by 0.16 and more."""
MOST_UNEVEN_PATTERN = 25.0
"""The liveliest tenth of a close-up's blocks has less than so many times the energy of
the quietest: 16 on made surfaces."""
TINY = 1e-9
ROUNDS = 400
COVERS = (0.025, 0.975)
UNCLEAR = "no scratches in either direction stand out from the rest of the photo"
NO_CLOSEUP = (
    "this looks like no close-up: light and pattern differ too much from place to "
    "place; fill the photo with some 30 mm of bare metal and nothing else, so that "
    "single scratches can be seen"
)
SMEARED = (
    "scratches one way are far softer than the other way, as if the phone had moved; "
    "hold it still and take another"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ScratchCheck:
    """The last grit's share of the scratches, 0 to 1, with its 95 % range.

    ``share`` and its range are None where no scratches could be told apart. The angles
    are those on the face; ``strongest_deg`` is where most lines run, if one way.
    ``closeup`` is False for a photo that shows more than metal from close by.
    """

    verdict: ScratchVerdict
    share: float | None
    low: float | None
    high: float | None
    previous_deg: float
    this_deg: float
    strongest_deg: float | None
    closeup: bool = True
    warnings: tuple[str, ...] = ()


def check_scratches(
    picture: Pixels, previous_deg: float, this_deg: float, *, toe: Toe = "up"
) -> ScratchCheck:
    """Say how much of a close-up's scratches run as the last grit's did.

    ``previous_deg`` and ``this_deg`` are as ``lapping.directions`` counts them, and
    ``toe`` says where the toe lies in the picture. The share is one of the energy of
    brightness, as the light shows the scratches: light along a scratch hides it, and
    so does a phone that moved across it at an even pace, which is not noticed.
    BadInput where the directions are too close or the picture cannot be judged.
    """
    if between_deg(previous_deg, this_deg) < LEAST_APART_DEG:
        message = (
            f"the directions {direction_words(previous_deg)} and "
            f"{direction_words(this_deg)} are less than {LEAST_APART_DEG:.0f}° apart, "
            "so their scratches cannot be told apart; cross them more next time"
        )
        raise BadInput(message)
    grey = cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY) if picture.ndim == 3 else picture
    grey = np.asarray(grey, np.uint8)
    if min(grey.shape) < BLOCKS_A_SIDE * SHORT_BLOCK:
        message = (
            f"the photo is {grey.shape[1]} × {grey.shape[0]} pixels; at least "
            f"{BLOCKS_A_SIDE * SHORT_BLOCK} each way are needed to see scratches, give "
            "it as the camera took it"
        )
        raise BadInput(message)
    turn = TOE_DEG[toe]
    found = ridges(grey, previous_deg + turn, this_deg + turn)
    usable = _usable(found)
    if not _is_closeup(grey, found):
        return ScratchCheck(
            verdict="cannot tell",
            share=None,
            low=None,
            high=None,
            previous_deg=previous_deg,
            this_deg=this_deg,
            strongest_deg=None,
            closeup=False,
            warnings=(NO_CLOSEUP,),
        )
    coherence, lines = grain(grey)
    strongest = None if coherence < LOPSIDED else (lines - turn) % 180
    warnings = tuple(_elsewhere(strongest, previous_deg, this_deg))
    energy = float(found.energy[usable].sum())
    floor = float(found.floor[usable].sum())
    share = low = high = None
    verdict: ScratchVerdict = "cannot tell"
    if energy > max(LEAST_CLEAR * floor, usable.sum() * LEAST_CONTRAST**2):
        share, low, high = _share(found, usable)
        _refuse_blurred(found.fine, share)
        if _smeared(found.fine, share):
            warnings = (*warnings, SMEARED)
        elif high < GONE_SHARE:
            verdict = "gone"
        elif low > GONE_SHARE:
            verdict = "still there"
    else:
        warnings = (*warnings, UNCLEAR)
    return ScratchCheck(
        verdict=verdict,
        share=share,
        low=low,
        high=high,
        previous_deg=previous_deg,
        this_deg=this_deg,
        strongest_deg=strongest,
        warnings=warnings,
    )


def _usable(found: Ridges) -> NDArray[np.bool_]:
    """Leave out blocks that are blown out, black, or have dirt on them."""
    seen = np.isfinite(found.floor)
    if seen.sum() < LEAST_BLOCKS:
        message = (
            "nearly all of the photo is blown out or black; take it again in softer "
            "light"
        )
        raise BadInput(message)
    # Dirt has energy in all directions, a deep scratch in its own only.
    floor = np.where(seen, found.floor, np.nan)
    usual = float(np.nanmedian(floor))
    spread = float(np.nanmedian(np.abs(floor - usual)))
    clean = seen & (np.nan_to_num(floor, nan=np.inf) <= usual + DIRT * spread)
    return clean if clean.sum() >= LEAST_BLOCKS else seen


def _is_closeup(grey: NDArray[np.uint8], found: Ridges) -> bool:
    """Say whether the photo is of one piece of metal: light and pattern alike all over.

    A bench, an outline or ink beside bare metal makes both differ far more.
    """
    patches = cv2.resize(grey, (PATCHES, PATCHES), interpolation=cv2.INTER_AREA)
    light = np.log(patches.astype(np.float64) + 4.0).ravel()
    down, right = np.mgrid[-1 : 1 : PATCHES * 1j, -1 : 1 : PATCHES * 1j]
    y, x = down.ravel(), right.ravel()
    lamp = np.stack([np.ones_like(x), x, y, x * x, y * y, x * y], axis=1)
    left = light - lamp @ np.linalg.lstsq(lamp, light, rcond=None)[0]
    energy = (found.energy.clip(0).sum(axis=2) + found.floor)[np.isfinite(found.floor)]
    quiet, lively = np.quantile(energy, (0.1, 0.9))
    return bool(
        left.std() < MOST_UNEVEN_LIGHT and lively < MOST_UNEVEN_PATTERN * quiet + TINY
    )


def _refuse_blurred(fine: Array, share: float) -> None:
    """Refuse a photo that has lost what is fine, be it in one direction only."""
    for one, part in zip(fine, (share, 1 - share), strict=True):
        if part > MATTERS and one < LEAST_FINE:
            message = (
                "the photo is too blurred to judge scratches by; hold the phone still, "
                "a little further away, and let it focus on the metal"
            )
            raise BadInput(message)


def _smeared(fine: Array, share: float) -> bool:
    """Say whether one direction's scratches are much softer than the other's."""
    return min(share, 1 - share) > MATTERS / 2 and fine.max() > SOFTER * fine.min()


def _share(found: Ridges, usable: NDArray[np.bool_]) -> tuple[float, float, float]:
    """Give the share and its range from repeats, the blocks of the picture.

    A long scratch crosses a row or a column of blocks, which are therefore drawn as a
    whole, both at once (Owen 2007, the pigeonhole bootstrap).
    """
    energy = np.where(usable[..., None], found.energy, 0.0)
    share = _first_of(energy.sum(axis=(0, 1)))
    rng = np.random.default_rng(0)
    rows, columns = usable.shape
    by_row = rng.multinomial(rows, np.full(rows, 1 / rows), ROUNDS)
    by_column = rng.multinomial(columns, np.full(columns, 1 / columns), ROUNDS)
    drawn = np.einsum("nr,rce,nc->ne", by_row, energy, by_column)
    whole = drawn.sum(axis=1)
    shares = drawn[whole > 0, 0] / whole[whole > 0]
    uneven = float(np.where(usable, found.uneven, 0.0).sum() / energy.sum())
    wider = rng.normal(0.0, np.hypot(METHOD_SHARE, uneven), len(shares))
    low, high = np.quantile(np.clip(shares + wider, 0.0, 1.0), COVERS)
    return share, min(float(low), share), max(float(high), share)


def _first_of(energy: Array) -> float:
    return float(np.clip(energy[0] / energy.sum(), 0.0, 1.0))


def _elsewhere(
    strongest: float | None, previous_deg: float, this_deg: float
) -> list[str]:
    if strongest is None:
        return []
    off = min(between_deg(strongest, deg) for deg in (previous_deg, this_deg))
    if off <= LEAST_APART_DEG:
        return []
    return [
        f"most lines run {direction_words(strongest, ASKEW_DEG)}, which is neither "
        "direction said; is the toe where it should be?"
    ]
