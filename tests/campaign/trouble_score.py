"""Were troubles named in time, and only where they were?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

Record = Mapping[str, Any]
CLEAR = 3.0
NONE = 1.0
SESSIONS = 2
PLANTED = {"shape": {"rocking", "lap", "mapped"}}
"""Heat and rims that wear round let a bow grow too, which is another matter."""
NAMES: dict[str, frozenset[str]] = {
    "dead paper": frozenset({"dead paper"}),
    "shape": frozenset(
        {
            *("crown growing", "hollow growing", "twist growing", "shape stays"),
            *("lap not flat", "rocking"),
        }
    ),
    "off centre": frozenset({"out of square"}),
    "proud": frozenset({"proud place"}),
    "warm": frozenset({"read warm"}),
}
"""The signs, as documented, that name each trouble."""
GREY = {"dead paper": "worn paper", "proud": "bump", "shape": "any growth"}
"""What has to be small too before a job counts as free of the trouble."""


def trouble_lines(records: Sequence[Record]) -> Iterator[str]:
    """Give a table: a row for each trouble."""
    yield "| trouble | have it | named in time | ended before | have it not | named |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for trouble in NAMES:
        found = [state(one, trouble) for one in records]
        named, missed = found.count("named"), found.count("missed")
        false, free = found.count("false"), found.count("free")
        yield (
            f"| {trouble} | {named + missed} | {_share(named, named + missed)} | "
            f"{found.count('ended')} | {false + free} | "
            f"{_share(false, false + free)} |"
        )
        wrong = [
            f"{one['number']} ({one['kind']}) {what}"
            for one, what in zip(records, found, strict=True)
            if what in ("missed", "false")
        ]
        if wrong:
            yield f"  {trouble}: {', '.join(wrong)}"


def state(one: Record, trouble: str) -> str:
    """Say how a trouble went in a job: named, missed, ended, false, free or neither."""
    looks = one["looks"]
    if trouble == "off centre" and one["square_u_um"] is None:
        return "neither"
    units = [
        one["square_u_um"] if trouble == "off centre" else look["u_um"]
        for look in looks
    ]
    sizes = [look["effects"][trouble] for look in looks]
    says = [bool(NAMES[trouble] & set(look["advice"]["signs"])) for look in looks]
    sessions = _sessions(looks)
    there = [at for at, size in enumerate(sizes) if size > CLEAR * units[at]]
    if there and one["kind"] not in PLANTED.get(trouble, {one["kind"]}):
        return "neither"
    if there:
        first = there[0]
        until = sessions[first] + SESSIONS
        in_time = [at for at, number in enumerate(sessions) if number <= until]
        if any(says[at] for at in in_time):
            return "named"
        return "missed" if sessions[-1] >= until else "ended"
    if one["kind"] in PLANTED.get(trouble, ()):
        return "neither"  # it was there, and was put right before it did anything
    beside = [look["effects"][GREY.get(trouble, trouble)] for look in looks]
    if all(size <= NONE * unit for size, unit in zip(beside, units, strict=True)):
        return "false" if any(says) else "free"
    return "neither"


def _sessions(looks: Sequence[Mapping[str, Any]]) -> list[int]:
    """Number the looks by how often the face had been rubbed before."""
    number, found = 0, []
    for look in looks:
        number += look["rubbed"] is not None
        found.append(number)
    return found


def _share(some: int, of: int) -> str:
    return f"{some / of:.0%}" if of else "–"
