"""The command `read`: place after place at the prompt, each reading kept at once."""

from __future__ import annotations

import shlex
from dataclasses import dataclass

from lapping.bench.reading_begun import Wanted, label_of, second_round
from lapping.bench.reading_kept import kept_of
from lapping.cli.asking import Bench, Stopped, bench
from lapping.cli.next_step import tell_what_is_next
from lapping.cli.read_screen import Screen
from lapping.cli.read_setup import begin
from lapping.errors import BadInput, LogRefused
from lapping.log.entering import OpenSet
from lapping.log.opening import Log
from lapping.prompt import line as prompt
from lapping.prompt.cells import size_of
from lapping.prompt.line import Said, Walk
from lapping.prompt.words import kept_words
from lapping.readings import Reading


def read_face(log: Log, wanted: Wanted, log_option: str | None) -> None:
    """Read a face to the end of its set, or as far as the person wants to go."""
    at = bench()
    where = "" if log_option is None else f" --log {shlex.quote(log_option)}"
    try:
        open_set: OpenSet | None = begin(log, wanted, at)
    except Stopped:
        at.say("Stopped; no set was begun.")
        return
    while open_set is not None:
        label = label_of(log, open_set)
        session = Session(log=log, bench=at, set=open_set, label=label)
        try:
            session.run()
        except Stopped:
            at.say(f"Stopped; {session.kept.so_far()}. Go on with:")
            print(f"  lapping read {shlex.quote(label)}{where}")
            return
        open_set = session.next_set()
        if open_set is None:
            tell_what_is_next(log, at, label, where)


@dataclass(slots=True, kw_only=True, eq=False)
class Doubted:
    """A value that was asked for again, and where."""

    at: int
    size: float
    text: str


class Session:
    """One set being read; what is typed leads from place to place."""

    def __init__(self, *, log: Log, bench: Bench, set: OpenSet, label: str) -> None:
        """Take up the set where its readings end."""
        self.log, self.bench, self.set, self.label = log, bench, set, label
        self.turned = set.header.turned is not None
        self.kept = kept_of(log, set)
        self.screen = Screen(
            bench=bench, kept=self.kept, face=self.kept.face, turned=self.turned
        )
        self.doubted: Doubted | None = None
        self.finished = False
        self.walk = prompt.begin_walk(self.kept.states(), self.kept.last_read())

    def run(self) -> None:
        """Ask for place after place until the set is closed."""
        self.screen.introduce(self.label, self.walk)
        draw = True
        while not self.finished:
            typed = self.screen.question(self.walk, draw=draw)
            try:
                draw = self.answer(prompt.parse_said(typed))
            except LogRefused as trouble:
                if not self.bench.terminal:
                    raise
                # Somebody is there to make room on the disk, and to type it again.
                self.bench.say(str(trouble))
                draw = False

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
                self.screen.show_map(walk, asked=True)
            case "help":
                self.screen.show_help()
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
        try:
            cells, reading = self.kept.meant(at, text)
            if self.should_be_seen_again(at, reading, text):
                return False
            # A place that looked open here may just have been read by somebody else.
            corrects = self.walk.states[at] != "open" and not self.walk.again
            self.kept.keep(at, cells, corrects=corrects)
        except BadInput as problem:
            self.bench.say(self.kept.bare(problem))
            return False
        self.doubted = None
        self.walk = prompt.answered(self.walk, "read")
        self.bench.say(f"kept: {kept_words(reading, self.kept.scale)}")
        return True

    def should_be_seen_again(self, at: int, reading: Reading, text: str) -> bool:
        """Ask again for a value that may be a slip, once."""
        before, size = self.doubted, size_of(reading)
        if before is not None and (before.at, before.size) == (at, size):
            return False
        sentence = self.kept.doubt_of(at, reading, text)
        self.doubted = None
        if sentence is None:
            return False
        self.doubted = Doubted(at=at, size=size, text=text)
        self.bench.say(sentence)
        self.bench.say("Not kept yet: type it again (or y) if it is so.")
        return True

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
        self.kept.skip(at)
        self.walk = prompt.answered(self.walk, "skipped")
        self.bench.say("skipped")
        return True

    def note(self, text: str) -> None:
        """Keep a remark about the newest reading, or about the set before any."""
        if not text:
            self.bench.say("A note needs its text: note burr on the left edge")
            return
        self.bench.say(f"noted, with {self.kept.note(text, self.walk.last)}")

    def finish(self) -> None:
        """Close the set; where it shows nothing yet it stays open."""
        try:
            self.set.finish()
        except BadInput as problem:
            self.bench.say(self.kept.bare(problem))
            self.bench.say("The set stays open; 'stop' leaves it for later.")
            return
        self.finished = True
        self.bench.say(f"Finished; {self.kept.so_far()}.")

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
