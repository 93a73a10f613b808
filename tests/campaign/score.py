"""Figures from the records of many jobs, as lines of a table.

Works on the plain records, so that what was saved can be scored anew.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from statistics import median
from typing import Any

from tests.campaign.bench import LOOK
from tests.campaign.ideal import ROUGH
from tests.campaign.trouble_score import trouble_lines

Record = Mapping[str, Any]
FAR = 2.5
FINE = 12.0
INFINITE = float("inf")


def lines(records: Sequence[Record]) -> Iterator[str]:
    """Give the whole table."""
    yield from _ends(records)
    yield from _done(records)
    yield from _strokes(records)
    yield from _ranges(records)
    yield from trouble_lines(records)
    seconds = [look["seconds"] for one in records for look in one["looks"]]
    if seconds:
        yield (
            f"an answer took {median(seconds):.2f} s (median), "
            f"{max(seconds):.2f} s at most; {len(seconds)} answers"
        )


def _ends(records: Sequence[Record]) -> Iterator[str]:
    yield f"{len(records)} jobs"
    yield "| kind | jobs | done | gave up | ran out | failed |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for kind in dict.fromkeys(one["kind"] for one in records):
        ends = Counter(one["end"] for one in records if one["kind"] == kind)
        row = [ends[end] for end in ("done", "gave up", "ran out", "failed")]
        yield f"| {kind} | {sum(row)} | " + " | ".join(map(str, row)) + " |"
    for why, many in Counter(
        (one["end"], one["why"]) for one in records if one["end"] != "done"
    ).most_common():
        yield f"  {why[0]}: {why[1]}: {many}"


def _done(records: Sequence[Record]) -> Iterator[str]:
    done = [one for one in records if one["end"] == "done"]
    true = [one for one in done if one["truth"]["works"]]
    whole = [one for one in done if one["truth"]["whole_um"] <= one["target_um"]]
    yield f"called done and truly within target: {share(len(true), len(done))}"
    yield f"  the whole face within it too: {share(len(whole), len(done))}"
    for one in done:
        if one not in true:
            truth = one["truth"]
            yield (
                f"  not: job {one['number']} ({one['kind']}), target "
                f"{one['target_um']:g}, together {truth['together_um']:.0f}, proud "
                f"{truth['proud_um']:.0f}, hollow {truth['hollow_um']:.0f} µm"
            )
    rough = [o for o in done if o["scratch_um"] > ROUGH * o["finest_scratch_um"]]
    yield f"  done with scratches of a coarser paper: {share(len(rough), len(done))}"


def _strokes(records: Sequence[Record]) -> Iterator[str]:
    named = {"≥ 2.5 targets, u ≤ target/12": _far, "all others": _not_far}
    for name, chosen in named.items():
        some = [one for one in records if chosen(one)]
        some = [one for one in some if one["ideal"]["shaping"] is not None]
        if not some:
            continue
        total = [ratio(one) for one in some]
        fine = [ratio(one, finish="finishing") for one in some]
        very = [ratio(one, by="shaping", finish="finishing") for one in some]
        shaping = [shaping_ratio(one) for one in some]
        yield (
            f"strokes over those of one who knows all, {name} ({len(some)} jobs): "
            f"median {median(total):.2f}, nine in ten below {_ninth(total):.2f}; of "
            f"shaping alone {median(shaping):.2f}; over one who stops at the very "
            f"stroke {median(very):.2f}, or on the finer papers only {median(fine):.2f}"
        )


def ratio(
    one: Record, by: str = "sessions", finish: str = "finishing_sessions"
) -> float:
    """Give the strokes of a job over those that were needed; not done is infinite.

    Needed are whole ``sessions`` and ``finishing_sessions``, or the strokes of
    ``shaping`` and ``finishing`` to the very last.
    """
    if one["end"] != "done":
        return INFINITE
    needed = one["ideal"][by] + one["ideal"][finish]
    return float(max(one["strokes"], 1) / max(needed, 1))


def shaping_ratio(one: Record) -> float:
    """Give the same for the strokes up to the first finer paper."""
    if one["end"] != "done":
        return INFINITE
    first = shaped_at(one)
    strokes = one["strokes"] if first is None else one["looks"][first]["strokes"]
    return float(max(strokes, 1) / max(one["ideal"]["sessions"], 1))


def shaped_at(one: Record) -> int | None:
    """Give the first look at which a finer paper was advised, None if never."""
    for at, look in enumerate(one["looks"]):
        if look["advice"]["action"] == "next grit":
            return at
    return None


def _far(one: Record) -> bool:
    start = one["looks"][0]["truth"]["whole_um"] if one["looks"] else 0.0
    target = one["target_um"]
    return bool(start >= FAR * target and one["u_um"] <= target / FINE)


def _not_far(one: Record) -> bool:
    return not _far(one)


def _ninth(values: Sequence[float]) -> float:
    return sorted(values)[min(int(0.9 * len(values)), len(values) - 1)]


def _ranges(records: Sequence[Record]) -> Iterator[str]:
    held, high, low, wide = 0, 0, 0, []
    for one in records:
        for found, few, many in ranges(one):
            held += found == "held"
            high += found == "more said"
            low += found == "less said"
            wide.append(many / max(few, 1.0))
    every = held + high + low
    if every:
        yield (
            f"strokes-left range held the truth: {share(held, every)} of sessions; "
            f"said too many {high}, too few {low}; many/few {median(wide):.1f} (median)"
        )


def ranges(one: Record) -> Iterator[tuple[str, float, float]]:
    """Say of each range given while shaping whether it held what was truly left.

    The truth is known to within a few strokes, and only if the job went on to there or
    went on beyond what was said.
    """
    until = shaped_at(one)
    looks = one["looks"] if until is None else one["looks"][:until]
    for look in looks:
        said = look["advice"]["strokes"]
        if said is None or look["advice"]["action"] == "done":
            continue
        few, many = said
        reached = one["reached"]
        if reached is None:
            if one["strokes"] - look["strokes"] > many:
                yield "less said", few, many
            continue
        most = max(reached - look["strokes"], 0)
        least = max(most - LOOK, 0)
        if many < least:
            yield "less said", few, many
        elif few > most:
            yield "more said", few, many
        else:
            yield "held", few, many


def share(some: int, of: int) -> str:
    """Write a share with its counts."""
    return f"{some / of:.1%} ({some} of {of})" if of else "none"
