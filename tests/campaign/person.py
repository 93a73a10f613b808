"""The person at the bench, who does as advised as far as there are means to."""

from __future__ import annotations

from dataclasses import replace

from tests.campaign.answers import Advice
from tests.campaign.bench import Bench, Rubbed
from tests.campaign.filing import file_heads, file_places
from tests.campaign.surroundings import Grade

FEWEST = 20
"""Nobody cleans the plane and reads it for less."""
PATIENCE = 3
"""So often in a row the same thing is done again before giving up on it."""
COOLING_MIN = 90.0
MAPPING_MIN = 40.0
BEAR = 0.12
"""How far the load is moved to where it should bear, as a share of the size."""


class Person:
    """Does what is said; ``gave_up`` says why if there was no way to go on."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.gave_up: str | None = None
        self.grade = bench.shop.papers[0]
        self._same = 0
        self._last = ""

    def does(self, advice: Advice) -> Rubbed | None:
        """Follow the advice up to the next reading; give what was rubbed, if any."""
        bench = self.bench
        self._same = self._same + 1 if advice.action == self._last else 1
        self._last = advice.action
        if advice.action == "cool":
            self._wait()
            return None
        if advice.action == "measure":
            self._measure()
            return None
        if advice.action == "check lap":
            return self._see_to_the_lap(advice)
        if advice.action == "change paper":
            bench.renew(self._grade(advice))
        elif advice.action == "press differently":
            bench.press_evenly()
        elif advice.action == "one place first":
            # Where nothing can be felt there is nothing to file, and one laps on.
            heads = file_heads(bench.body, bench.rng)
            if file_places(bench.body, advice.where, bench.rng) or heads:
                if self._same > 2 * PATIENCE:
                    self.gave_up = "filed the place and was told to again"
                return None
        return self._lap(advice)

    def _lap(self, advice: Advice) -> Rubbed:
        """Make a session's strokes: one's habit, or less if less is said to be left."""
        bench = self.bench
        count = bench.shop.habit
        if advice.strokes is not None:
            few, many = advice.strokes
            count = min(count, max(round((few + many) / 2), FEWEST))
        habit = bench.shop.sheet_habit
        grade = self._grade(advice)
        if habit is not None and bench.sheet.strokes >= habit:
            bench.renew(grade)
        rubbed = bench.rub(count, grade, self._toward(advice))
        bench.wait(bench.shop.pause_min)
        return rubbed

    def _grade(self, advice: Advice) -> Grade:
        known = {grade.name: grade for grade in self.bench.shop.papers}
        if advice.grit in known:
            self.grade = known[advice.grit]
        elif advice.action == "next grit":
            at = self.bench.shop.papers.index(self.grade)
            self.grade = self.bench.shop.papers[
                min(at + 1, len(self.bench.shop.papers) - 1)
            ]
        return self.grade

    def _wait(self) -> None:
        if self._same > PATIENCE:
            self.gave_up = "let it cool and was told to again"
        self.bench.wait(COOLING_MIN)

    def _measure(self) -> None:
        bench = self.bench
        if bench.shop.better_gauge is not None:
            bench.gauge = bench.shop.better_gauge
        if self._same > PATIENCE:
            self.gave_up = "measured again and was told to measure better"

    def _see_to_the_lap(self, advice: Advice) -> Rubbed | None:
        """Map the lap if there is a level; once mapped, or without one, change it."""
        bench = self.bench
        if self._same > PATIENCE:
            self.gave_up = "saw to the lap and was told to again"
            return None
        if not bench.lap_map and bench.shop.can_map:
            bench.wait(MAPPING_MIN)
            bench.read_lap()
            # The face is as it was, and its last readings stand.
            return None
        bench.change_lap()
        return self._lap(advice)

    def _toward(self, advice: Advice) -> tuple[float, float]:
        """Move the load towards the places that should bear."""
        if advice.action != "keep lapping" or not advice.where:
            return 0.0, 0.0
        face = self.bench.shop.face
        along = across = 0.0
        for place in advice.where:
            along += ("heel" in place) - ("toe" in place)
            across += "right" in place or "top" in place
            across -= "left" in place or "sole" in place
        many = len(advice.where)
        return (
            BEAR * face.length_mm * along / many,
            BEAR * face.width_mm * across / many,
        )


def quiet(bench: Bench) -> None:
    """Give a bench the hand, heads and lap that one who knows all would see to."""
    shop = bench.shop
    bench.hand = replace(shop.hand.told(), tires_mm=0.0)
    body = bench.body
    for head in body.heads:
        body.height_um = body.height_um - body.proud_um(head) * body.on_head(head)
    copied = max(abs(um) for um in shop.lap.copied_um(shop.face))
    if copied > shop.target_um / 4:
        bench.change_lap()
