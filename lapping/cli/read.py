"""The command `read`: place after place at the prompt, each reading kept at once."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass

from lapping import prompt
from lapping.cli.asking import Bench, Stopped, bench
from lapping.cli.read_setup import Wanted, begin, label_of, second_round
from lapping.errors import BadInput
from lapping.face import Face
from lapping.history import LoggedReading
from lapping.log.bench import add_note
from lapping.log.entering import OpenSet
from lapping.log.entries import replace as replace_entry
from lapping.log.opening import Log
from lapping.log.sets import ReadingEntry
from lapping.patterns import Pattern
from lapping.prompt import Said, State, Walk
from lapping.prompt_cells import answer_cells, plan_of, size_of
from lapping.prompt_doubt import Scale, doubt, scale_of
from lapping.prompt_map import LEGEND, draw_map
from lapping.prompt_words import (
    asked_for,
    help_lines,
    kept_words,
    line_words,
    place_line,
    setup_words,
)

ROOM_LINES = 6
"""Lines needed below the map for the place, the question and what is said of it."""


def read_face(log: Log, wanted: Wanted, log_option: str | None) -> None:
    """Read a face to the end of its set, or as far as the person wants to go."""
    at = bench()
    try:
        open_set: OpenSet | None = begin(log, wanted, at)
    except Stopped:
        at.say("Stopped; no set was begun.")
        return
    while open_set is not None:
        label = label_of(log, open_set)
        go_on = f"lapping read {shlex.quote(label)}"
        if log_option is not None:
            go_on += f" --log {shlex.quote(log_option)}"
        session = Session(log=log, bench=at, set=open_set, label=label)
        try:
            session.run()
            open_set = session.next_set()
        except Stopped:
            at.say(f"Stopped; {session.so_far()}. Go on with:")
            print(f"  {go_on}")
            return
        if open_set is None:
            print(f"  lapping check {shlex.quote(label)}")


@dataclass(slots=True, kw_only=True, eq=False)
class Doubted:
    """A value that was asked for again, and where."""

    at: int
    size: float
    text: str


class Session:
    """One set being read; what is on disk is looked up before every question."""

    def __init__(self, *, log: Log, bench: Bench, set: OpenSet, label: str) -> None:
        """Take up the set where its readings end."""
        fact, header = set.entry.fact, set.header
        # Refused when the set was begun; this says so to the type checker.
        assert header.face is not None
        self.log, self.bench, self.set, self.label = log, bench, set, label
        self.face: Face = header.face
        self.turned = header.turned is not None
        self.plan: Pattern = plan_of(self.face, fact.method, fact.places)
        self.scale: Scale = scale_of(header.unit, header.unit_um, header.resolution_um)
        self.doubted: Doubted | None = None
        self.line: str | None = None
        self.finished = False
        self.walk: Walk = prompt.begin_walk(self.states(), self.last_read())

    def run(self) -> None:
        """Ask for place after place until the set is closed."""
        self.introduce()
        draw = True
        while not self.finished:
            draw = self.answer(prompt.parse_said(self.question(draw=draw)))

    # What is on disk.

    def entries_at(self, place: int) -> list[ReadingEntry]:
        """Give what holds at a planned place, the oldest first."""
        return [one for one in self.set.readings() if one.fact.place == place]

    def states(self) -> list[State]:
        """Say of each place whether it is read, skipped or open."""
        states: list[State] = ["open"] * len(self.plan)
        for one in self.set.readings():
            place = one.fact.place
            if place is not None and states[place] != "read":
                states[place] = "skipped" if one.fact.skipped else "read"
        return states

    def last_read(self) -> int | None:
        """Give the place of the newest reading."""
        read = [one for one in self.set.readings() if not one.fact.skipped]
        return max(read, key=lambda one: one.id).fact.place if read else None

    def so_far(self) -> str:
        """Say how much is kept."""
        return f"{self.states().count('read')} of {len(self.plan)} places are kept"

    # What is said.

    def introduce(self) -> None:
        """Say what is read, where it goes, and how to set up."""
        method = self.set.entry.fact.method
        say = self.bench.say
        say(
            f"{self.label}: {self.face.kind} {self.face.length_mm:g} x "
            f"{self.face.width_mm:g} mm, {len(self.plan)} places, set {self.set.number}"
        )
        if any(state != "open" for state in self.walk.states):
            say(f"Going on: {self.so_far()}.")
        say(setup_words(method, turned=self.turned))
        say("? lists the words; stop leaves off and loses nothing.")
        if self.bench.terminal:
            say(LEGEND)

    def question(self, *, draw: bool) -> str:
        """Ask for the next place, with its map if there is room."""
        walk = self.walk
        if walk.at is None:
            skipped = walk.states.count("skipped")
            more = f", {skipped} skipped" if skipped else ""
            self.bench.say(f"All places are done{more}.")
            return self.bench.ask("Enter finishes, back corrects >")
        place = self.plan[walk.at]
        if draw:
            if place.line not in ("", self.line):
                self.line = place.line
                self.bench.say(line_words(self.set.entry.fact.method, place.line))
            self.show_map(asked=False)
        self.bench.say(place_line(walk.at + 1, len(self.plan), place), indent="  ")
        if walk.again:
            self.bench.say("once more; both readings are kept")
        elif walk.states[walk.at] != "open":
            self.bench.say(f"was: {self.was(walk.at)}; Enter keeps it")
        asked = asked_for(self.set.entry.fact.columns, self.set.header.unit)
        return self.bench.ask(asked)

    def show_map(self, *, asked: bool) -> None:
        """Draw the map where somebody sees it and it leaves room for the question."""
        down = self.set.entry.fact.method == "feeler"
        lines = draw_map(self.face, self.plan, self.walk, sole_down=down)
        fits = self.bench.terminal and len(lines) + ROOM_LINES <= self.bench.height
        if asked or fits:
            print("\n".join(lines))
        if asked:
            self.bench.say(LEGEND)

    def was(self, place: int) -> str:
        """Say what holds at a place, in the words it was typed in."""
        one = self.entries_at(place)[-1].fact
        return "skipped" if one.understood is None else one.understood.entered_as

    # What is done.

    def answer(self, said: Said) -> bool:
        """Act on one typed line; say whether the map has changed."""
        walk = self.walk
        match said.word:
            case "value":
                return self.value(said.text)
            case "keep":
                return self.keep()
            case "skip":
                return self.skip()
            case "back":
                return self.go(prompt.gone_back(walk), "This is the first place.")
            case "again":
                return self.again()
            case "note":
                self.note(said.text)
            case "map":
                self.show_map(asked=True)
            case "help":
                columns = self.set.entry.fact.columns
                for line in help_lines(columns):
                    self.bench.say(line, indent=" " * 12)
            case "stop":
                raise Stopped
            case "done":
                self.finish()
        return False

    def value(self, text: str) -> bool:
        """Keep a reading, unless it cannot be or should be looked at again."""
        at = self.walk.at
        if at is None:
            self.bench.say("Every place is done; 'again' or 'back' come first.")
            return False
        if self.doubted is not None and text.lower() in prompt.YES:
            text = self.doubted.text
        meant = prompt.misspelt(text)
        if meant is not None:
            self.bench.say(f"There is no word '{text}'; {meant}")
            return False
        where = self.set.entry.fact.places[at]
        try:
            cells = (*where, *answer_cells(self.set.entry.fact.columns, text))
            reading = self.set.understand(cells)
        except BadInput as problem:
            self.bench.say(self.bare(problem))
            return False
        size = size_of(reading)
        if self.should_be_seen_again(at, size, text):
            return False
        kept = self.keep_cells(at, cells)
        self.doubted = None
        self.walk = prompt.answered(self.walk, "read")
        assert kept.fact.understood is not None
        self.bench.say(f"kept: {kept_words(kept.fact.understood, self.scale)}")
        return True

    def keep_cells(self, at: int, cells: Sequence[str]) -> ReadingEntry:
        """Put a reading on disk: a new one, or instead of what is there."""
        here = self.entries_at(at)
        if here and not self.walk.again:
            return self.set.replace(here[-1], cells)
        return self.set.add(cells, place=at)

    def should_be_seen_again(self, at: int, size: float, text: str) -> bool:
        """Ask again for a value that may be a slip, once."""
        before, scale = self.doubted, self.scale
        if before is not None and (before.at, before.size) == (at, size):
            return False
        rest = [
            size_of(one.fact.understood) / scale.um
            for one in self.set.readings()
            if one.fact.understood is not None and one.fact.place != at
        ]
        sentence = doubt(
            size / scale.um,
            rest,
            step=scale.step,
            unit=scale.unit,
            bare=not any(c.isalpha() for c in text) and "leaves" not in self.headers(),
        )
        self.doubted = None
        if sentence is None:
            return False
        self.doubted = Doubted(at=at, size=size, text=text)
        self.bench.say(f"{sentence}.")
        self.bench.say("Not kept yet: type it again (or y) if it is so.")
        return True

    def headers(self) -> set[str]:
        """Give the keys of the header lines of this set."""
        return {key for key, _, _ in self.set.entry.fact.headers}

    def bare(self, problem: BadInput) -> str:
        """Leave out file and line, which nobody at a prompt has."""
        start = f"{self.set.source}, line 1: "
        said = "\n".join(one.removeprefix(start) for one in problem.mistakes)
        return said.replace(" in '# leaves:'", "")

    def keep(self) -> bool:
        """Enter alone: keep what is there, or finish when all is done."""
        if self.walk.at is None:
            self.finish()
            return False
        kept = prompt.kept(self.walk)
        return self.go(kept, "Nothing typed: a reading, skip, or ? for the words.")

    def go(self, walk: Walk | None, sentence: str) -> bool:
        """Go to another place, or say why not."""
        self.doubted = None
        if walk is None:
            self.bench.say(sentence)
            return False
        self.walk = walk
        return True

    def again(self) -> bool:
        """Read the last place once more; an edge is laid anew for a whole line."""
        if self.set.entry.fact.method == "straightedge":
            self.bench.say(
                "An edge laid down anew is read along its whole line. 'back' corrects "
                "a reading; when all is done the lines can be read once more."
            )
            return False
        return self.go(prompt.repeated(self.walk), "There is no reading to repeat yet.")

    def skip(self) -> bool:
        """Keep that a place was passed over; a reading there is kept below it."""
        at = self.walk.at
        if at is None:
            self.bench.say("Every place is done; there is none to skip.")
            return False
        for one in self.entries_at(at):
            fact = one.fact
            if not fact.skipped:
                passed = LoggedReading(
                    set=fact.set,
                    line=fact.line,
                    cells=None,
                    understood=None,
                    place=fact.place,
                )
                replace_entry(self.log, one.id, passed)
        if not self.entries_at(at):
            self.set.skip(at)
        self.walk = prompt.answered(self.walk, "skipped")
        self.bench.say("skipped")
        return True

    def note(self, text: str) -> None:
        """Keep a remark about the newest reading, or about the set before any."""
        if not text:
            self.bench.say("A note needs its text: note burr on the left edge")
            return
        last = self.walk.last
        here = self.entries_at(last) if last is not None else []
        about = here[-1] if here else self.set.entry
        add_note(self.log, about, text)
        where = self.plan[last].words if here and last is not None else "this set"
        self.bench.say(f"noted, with {where}")

    def finish(self) -> None:
        """Close the set; where it shows nothing yet it stays open."""
        try:
            self.set.finish()
        except BadInput as problem:
            self.bench.say(self.bare(problem))
            self.bench.say("The set stays open; 'stop' leaves it for later.")
            return
        self.finished = True
        self.bench.say(f"Finished; {self.so_far()}. What they say:")

    def next_set(self) -> OpenSet | None:
        """Offer the second round of a straightedge, its edge turned end for end."""
        if self.set.entry.fact.method != "straightedge" or self.turned:
            return None
        try:
            said = self.bench.ask(
                "Turn the edge end for end and read every line again? That parts the "
                "edge's own shape from the face's. y or n >"
            )
        except Stopped:
            return None
        wanted = said.strip().lower() in prompt.YES
        return second_round(self.log, self.set) if wanted else None
