"""Before the first question of `lapping read`: go on with a set, or begin one."""

from __future__ import annotations

from lapping.bench.reading_begun import Wanted, begin_set, left_from_before
from lapping.cli.asking import Bench
from lapping.cli.read_gauge import the_gauge, the_stick
from lapping.errors import BadInput
from lapping.log.entering import OpenSet
from lapping.log.opening import Log


def begin(log: Log, wanted: Wanted, bench: Bench) -> OpenSet:
    """Go on with the set left open, or begin one."""
    before = left_from_before(log, wanted)
    for sentence in before.said:
        bench.say(sentence)
    if before.open_set is not None:
        return before.open_set
    if before.face is None:
        message = (
            "say which face: lapping read PLANE/sole, or, with no plane set up, "
            "lapping read --length 250mm --width 60mm"
        )
        raise BadInput(message)
    gauge = the_gauge(log, before.face, wanted, bench)
    sticks = gauge.fact.method == "winding"
    stick = the_stick(log, before.face, gauge, wanted, bench) if sticks else ""
    return begin_set(log, before.face, gauge, wanted, stick)
