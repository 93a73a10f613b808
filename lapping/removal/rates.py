"""How fast each grit cuts in these hands: beliefs about rates, and what looks add.

The logarithm of the rate of a grit, in µm of dose per stroke on a fresh sheet, is the
assumed one for its grain, plus what is peculiar to this bench, plus what is peculiar
to this grit, less the sheet's wear. All three are normal with a broad spread at first.
Every look moves them by what it says of the dose (assumed density filtering: Maybeck,
Stochastic Models, 1982, chapter 12), so that grits with few strokes lean on the others.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.grits import Grit
from lapping.removal.dose_seen import DOSES_UM, DRAWN_UM, GIVES_UM
from lapping.removal.job import Run
from lapping.wear.flattening import GIVE_UM
from lapping.wear.rate_prior import FADING_STROKES, LASTING_SHARE, SPREAD

Array = NDArray[np.float64]
Prior = Callable[[Run], float]
"""The assumed rate of a run's grit, metal and load, in µm of dose per stroke."""

GRIT_SPREAD = 0.5
"""The same of one grit beside what its grain leads to expect."""
WEAR_PER_100, WEAR_SPREAD = 100 / FADING_STROKES, 0.25
"""Log loss of a sheet's rate in a hundred strokes, and its spread. That paper cuts many
times faster at first than later is common practice, no source; the figures are ours."""
FACE_SPREAD = 0.3
"""Log-standard deviation of a bench's rate from one face to the next: hold, metal."""
STRAIGHT, DRAWN_SCALE_UM = 4.0, 40.0
"""That lap and hand draw to nothing has this weight beside shapes, which have less the
larger they are, in µm; most laps are good and most hands are steady."""
LEAST_WEAR = 2e-4
"""No sheet lasts longer than this loss of its rate in a stroke lets it."""
RUN_SPREAD = 0.3
"""Log-standard deviation from one run to the next: load, swarf, wet or dry."""
SEEN_SPREAD = 0.35
"""Log-spread by which a dose as the model reads it off two looks may be wrong: edges,
swing and a hand off the middle are not in it. Set by simulated jobs."""
SHEET_SPREAD = 0.5
"""Log-standard deviation of how fast one sheet wears beside others here: swarf, glue,
what it was made of. An assumption."""
NO_SHAPE = 0.05
"""So many pairs of looks say nothing of what lap and hand do, so that one alone never
makes a shape certain."""
UNKNOWN_SHEET_SPREAD = 0.5
"""The same for a sheet that nobody said was fresh."""
GIVE_SPREAD = 1.0
"""Log-standard deviation of how deep a face presses into its paper, about GIVE_UM."""
_LOG_DOSES = np.log(DOSES_UM)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Beliefs:
    """Normal beliefs for every hypothesis: bench, wear of sheets, then grits.

    A hypothesis is a give of the paper and a shape to which lap and hand draw the face
    (GIVES_UM, DRAWN_UM). ``mean`` (hypotheses, q) and ``cov`` (hypotheses, q, q);
    ``log_weight`` (hypotheses,) how well each explains the looks so far. ``learnt``
    counts looks that said something.
    """

    grits: tuple[Grit, ...]
    mean: Array
    cov: Array
    log_weight: Array
    learnt: int = 0

    @property
    def weight(self) -> Array:
        """Give the share of belief of every hypothesis, summing to one."""
        share = np.exp(self.log_weight - self.log_weight.max())
        return np.asarray(share / share.sum())


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """Log dose expected of some runs: mean and spread (hypotheses,).

    ``own`` is the part of the spread that is new in every run.
    """

    mean: Array
    spread: Array
    own: float

    @property
    def lasting(self) -> Array:
        """Give the part of the spread that all runs share, (hypotheses,)."""
        return np.asarray(np.sqrt(np.maximum(self.spread**2 - self.own**2, 0.0)))


def beliefs(grits: Sequence[Grit]) -> Beliefs:
    """Give what is believed before any look."""
    known = tuple(dict.fromkeys(grits))
    mean = np.array([0.0, WEAR_PER_100, *[0.0] * len(known)])
    spread = np.array([SPREAD, WEAR_SPREAD, *[GRIT_SPREAD] * len(known)])
    count = GIVES_UM.size
    return Beliefs(
        grits=known,
        mean=np.tile(mean, (count, 1)),
        cov=np.tile(np.diag(spread**2), (count, 1, 1)),
        log_weight=-0.5 * (np.log(GIVES_UM / GIVE_UM) / GIVE_SPREAD) ** 2
        + _drawn_beforehand(),
    )


def on_another_lap(held: Beliefs) -> Beliefs:
    """Forget to what lap and hand draw the face; what papers do is kept.

    For every give the beliefs of all shapes are put together, weighed by their share.
    """
    weight = held.weight
    mean, cov = held.mean.copy(), held.cov.copy()
    log_weight = _drawn_beforehand()
    for give in np.unique(GIVES_UM):
        here = give == GIVES_UM
        share = weight[here] / max(weight[here].sum(), 1e-300)
        middle = share @ held.mean[here]
        off = held.mean[here] - middle
        mean[here] = middle
        cov[here] = np.einsum("h,hij->ij", share, held.cov[here]) + np.einsum(
            "h,hi,hj->ij", share, off, off
        )
        log_weight[here] += np.log(max(weight[here].sum(), 1e-300))
    return replace(held, mean=mean, cov=cov, log_weight=log_weight)


def _drawn_beforehand() -> Array:
    """Give the log share of belief of every shape that lap and hand may draw to."""
    size = np.abs(DRAWN_UM).sum(axis=1)
    return np.log(np.where(size == 0, STRAIGHT, np.exp(-size / DRAWN_SCALE_UM)))


def extended(held: Beliefs, grits: Sequence[Grit]) -> Beliefs:
    """Add grits of which nothing is known yet, each beside what the bench is."""
    new = tuple(grit for grit in dict.fromkeys(grits) if grit not in held.grits)
    if not new:
        return held
    count, size = held.mean.shape
    wide = size + len(new)
    cov = np.zeros((count, wide, wide))
    cov[:, :size, :size] = held.cov
    cov[:, range(size, wide), range(size, wide)] = GRIT_SPREAD**2
    return replace(
        held,
        grits=held.grits + new,
        mean=np.concatenate([held.mean, np.zeros((count, len(new)))], axis=1),
        cov=cov,
    )


def carried_over(held: Beliefs) -> Beliefs:
    """Give what is believed on another face: the bench is not quite the same there."""
    cov = held.cov.copy()
    cov[:, 0, 0] += FACE_SPREAD**2
    return replace(held, cov=cov)


def expected(held: Beliefs, runs: Sequence[Run], prior: Prior) -> Expected:
    """Give the log dose that these runs should have taken off, and its spread."""
    mean, direction, own = _linear(held, runs, prior)
    variance = np.einsum("gi,gij,gj->g", direction, held.cov, direction)
    return Expected(mean=mean, spread=np.sqrt(variance + own**2), own=own)


def learn(
    held: Beliefs, runs: Sequence[Run], prior: Prior, log_likelihood: Array
) -> Beliefs:
    """Add what one look says of the dose (hypotheses, doses) that its runs took off."""
    mean, direction, own = _linear(held, runs, prior)
    cross = np.einsum("gij,gj->gi", held.cov, direction)
    sheet = SHEET_SPREAD * held.mean[:, 1] * direction[:, 1]
    variance = np.einsum("gi,gi->g", direction, cross)
    variance = variance + own**2 + SEEN_SPREAD**2 + sheet**2
    belief = -0.5 * (_LOG_DOSES - mean[:, None]) ** 2 / variance[:, None]
    both = belief + log_likelihood
    top = both.max(axis=1, keepdims=True)
    share = np.exp(both - top)
    total = share.sum(axis=1, keepdims=True)
    share /= total
    before = np.exp(belief)
    before /= before.sum(axis=1, keepdims=True)
    new_mean = share @ _LOG_DOSES
    new_variance = share @ _LOG_DOSES**2 - new_mean**2
    # The moments of the list of doses, not of the line: coarse steps must not sharpen.
    old_mean = before @ _LOG_DOSES
    old_variance = before @ _LOG_DOSES**2 - old_mean**2
    ratio = np.clip(new_variance / old_variance, 0.01, 1.0)
    gain = cross / variance[:, None]
    said = (before * np.exp(log_likelihood)).sum(axis=1)
    said = np.log((1 - NO_SHAPE) * said + NO_SHAPE * said.max())
    return replace(
        held,
        mean=held.mean + gain * (new_mean - old_mean)[:, None],
        cov=held.cov - np.einsum("gi,gj,g->gij", gain, gain, variance * (1.0 - ratio)),
        log_weight=held.log_weight + said - said.max(),
        learnt=held.learnt + int(float(held.weight @ ratio) < 0.8),
    )


def rate_on(held: Beliefs, run: Run, prior: Prior) -> Expected:
    """Give the log of µm of dose per stroke that a run like this one takes off now."""
    one = replace(run, strokes=1.0)
    return expected(held, (one,), prior)


def _linear(
    held: Beliefs, runs: Sequence[Run], prior: Prior
) -> tuple[Array, Array, float]:
    """Give mean and gradient of the log dose of several runs, and its own spread."""
    parts, directions, spreads = [], [], []
    for run in runs:
        direction = np.zeros_like(held.mean)
        direction[:, 0] = 1.0
        new = 0.0
        if run.grit in held.grits:
            direction[:, 2 + held.grits.index(run.grit)] = 1.0
        else:
            new = GRIT_SPREAD
        log_strokes, worn = fresh_strokes(held.mean[:, 1] / 100, run)
        log_rate = np.log(prior(run)) + (held.mean * direction).sum(axis=1)
        parts.append(log_strokes + log_rate)
        direction[:, 1] = worn / 100
        directions.append(direction)
        own = RUN_SPREAD if run.aged_surely else UNKNOWN_SHEET_SPREAD
        spreads.append(np.hypot(own, new))
    logs = np.stack(parts)
    top = logs.max(axis=0)
    shares = np.exp(logs - top)
    total = shares.sum(axis=0)
    shares = shares / total
    direction = (shares[:, :, None] * np.stack(directions)).sum(axis=0)
    spread = float(np.sqrt((shares.mean(axis=1) ** 2) @ np.square(spreads)))
    return top + np.log(total), direction, spread


def fresh_strokes(wear: Array, run: Run) -> tuple[Array, Array]:
    """Give the log of how many strokes on a fresh sheet a run is worth, and its slope.

    A sheet that wears by ``wear`` (hypotheses,) a stroke gives exp(-wear·age) of what
    does not last, beside what lasts; the slope is that of the logarithm over the wear.
    """
    wear = np.maximum(wear, LEAST_WEAR)
    total = wear * run.strokes
    fades = (1 - LASTING_SHARE) * np.exp(-wear * run.sheet_age) / wear
    fading = fades * -np.expm1(-total)
    worth = LASTING_SHARE * run.strokes + fading
    slope = fades * run.strokes * np.exp(-total)
    slope -= fading * (1 / wear + run.sheet_age)
    return np.log(worth), slope / worth
