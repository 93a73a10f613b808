"""What `lapping read` shows: the map, the place, the question, and how to set up."""

from __future__ import annotations

from lapping.bench.reading_kept import Kept
from lapping.cli.asking import Bench, EndOfInput
from lapping.face import Face
from lapping.patterns.walk import amount_words
from lapping.prompt.line import Walk
from lapping.prompt.map_drawn import LEGEND, draw_map
from lapping.prompt.words import (
    asked_for,
    help_lines,
    line_words,
    place_line,
    setup_words,
)

ROOM_LINES = 6
"""Lines needed below the map for the place, the question and what is said of it."""
HELP_INDENT = 12


class Screen:
    """What is shown of one set; the line under an edge is said once."""

    def __init__(self, *, bench: Bench, kept: Kept, face: Face, turned: bool) -> None:
        """Show nothing yet."""
        self.bench, self.kept, self.face, self.turned = bench, kept, face, turned
        self.method = kept.set.entry.fact.method
        self.line = ""

    def introduce(self, label: str, walk: Walk) -> None:
        """Say what is read, how far it has come, and how to set up."""
        say = self.bench.say
        say(
            f"{label}: {self.face.kind} {self.face.length_mm:g} x "
            f"{self.face.width_mm:g} mm, {amount_words(self.kept.plan)}, "
            f"set {self.kept.set.number}"
        )
        if any(state != "open" for state in walk.states):
            say(f"Going on: {self.kept.so_far()} (begun {self.kept.begun()}).")
        say(setup_words(self.method, self.kept.columns, turned=self.turned))
        say("? lists the words; stop leaves off and loses nothing.")
        if self.bench.terminal:
            say(LEGEND)

    def question(self, walk: Walk, *, draw: bool) -> str:
        """Ask for the next place, below its map if that fits; give what was typed."""
        if walk.at is None:
            return self._last_question(walk)
        place = self.kept.plan[walk.at]
        if draw:
            if place.line not in ("", self.line):
                self.line = place.line
                self.bench.say(line_words(self.method, place.line))
            self.show_map(walk, asked=False)
        self.bench.say(place_line(walk.at + 1, len(self.kept.plan), place), "  ")
        if walk.again:
            self.bench.say("once more; both readings are kept")
        elif walk.states[walk.at] != "open":
            self.bench.say(f"was: {self.kept.was(walk.at)}; Enter keeps it")
        return self.bench.ask(asked_for(self.kept.columns, self.kept.set.header.unit))

    def _last_question(self, walk: Walk) -> str:
        skipped = walk.states.count("skipped")
        more = f", {skipped} skipped" if skipped else ""
        self.bench.say(f"All places are done{more}.")
        try:
            return self.bench.ask("Enter finishes, back corrects >")
        except EndOfInput:
            return ""  # nothing but Enter was left to be said

    def show_map(self, walk: Walk, *, asked: bool) -> None:
        """Draw the map where somebody sees it and it leaves room for the question."""
        down = self.method == "feeler"
        lines = draw_map(self.face, self.kept.plan, walk, sole_down=down)
        fits = self.bench.terminal and len(lines) + ROOM_LINES <= self.bench.height
        if asked or fits:
            print("\n".join(lines))
        if asked:
            self.bench.say(LEGEND)

    def show_help(self) -> None:
        """Say what can be typed."""
        for line in help_lines(self.kept.columns):
            self.bench.say(line, " " * HELP_INDENT)
