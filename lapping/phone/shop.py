"""What every page needs: the log, the keys, the work going on, and no path let out."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from lapping.errors import BadInput
from lapping.log.opening import Log, open_log
from lapping.phone.guard import Door
from lapping.phone.refusals import Refusals
from lapping.phone.works import Works

_OPTION = re.compile(r"--[a-z]+(?:-[a-z]+)*")
_ON_A_PAGE = {
    "--picture": "the picture",
    "--toe": "the toe",
    "--corners": "its corners dragged",
    "--before-corners": "the button below",
}
"""What there is on a page in place of an option of the command line."""
_INSTEAD = tuple(
    (re.compile(command), words)
    for command, words in (
        (r", such as --length [\w.]+ --width [\w.]+", ""),
        (r"write them as [^ ]+/sole P240 100", "write the paper as P240"),
        (
            r"keep yours by lapping log paper, and lapping plan weighs them",
            "keep yours in the log on the computer, and the plan there weighs them",
        ),
        (
            r"give its corners in pixels with --corners \"[^\"]*\" \([^)]*\), or",
            "drag its corners, or",
        ),
        (r"with .lapping print corners. and ", "from 'Sheets to print' and "),
        (r"'lapping check' says ", "its own lines below say "),
        (r"'?lapping log paper[^';.,:]*'?", "the bench log"),
        (r"'lapping read[^']*'", "'Read'"),
        (r"'lapping log strokes[^']*'", "'Strokes'"),
        (r"'lapping scribble[^']*'", "'Photo'"),
        (r" below the heading", ""),
        (r" \((?:[a-z]+(?:_[a-z]+)+|repeatability)\)", ""),
    )
)
"""What a page offers in place of commands, files and their headings."""
_PHOTO = re.compile(r"the photos/[0-9a-f]{64}\.[a-z]+")
_PATH = re.compile(r"(?<![\w/.<])/(?:[\w.\-+@]+/)+[\w.\-+@]*")
"""Two or more folders in a row, as no name of a face has them."""


class NotHere(BadInput):
    """A page was asked for that there is none of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """One log served to phones."""

    path: Path
    door: Door
    works: Works = field(default_factory=Works)
    refusals: Refusals = field(default_factory=Refusals)

    @contextmanager
    def looking(self) -> Iterator[Log]:
        """Open the log to look things up."""
        with open_log(self.path, read_only=True) as log:
            yield log

    @contextmanager
    def writing(self) -> Iterator[Log]:
        """Open the log to write."""
        with open_log(self.path) as log:
            yield log

    def without_paths(self, text: str) -> str:
        """Leave out of a sentence where files lie on this machine."""
        return _PATH.sub("a file", self.without_ours(text))

    def without_ours(self, text: str) -> str:
        """Leave out of any text where the log and its photos lie."""
        from lapping.log.photos import photo_folder

        for path, word in (
            # Longer ones first, because they begin with the shorter.
            (f"{photo_folder(self.path.absolute())}", "the photos"),
            (f"{photo_folder(self.path)}", "the photos"),
            (f"{self.path}", "the log"),
            (f"{self.path.absolute()}", "the log"),
            (f"{self.path.absolute().parent}", "the log's folder"),
            (tempfile.gettempdir(), "a folder"),
        ):
            text = text.replace(path, word)
        return _PHOTO.sub("the photo", text)

    def worded(self, text: str) -> str:
        """Give a sentence of the layers below in the words of the pages."""
        text = self.without_paths(text)
        for command, words in _INSTEAD:
            text = command.sub(words, text)
        return _OPTION.sub(_here, text)

    def plain(self, lines: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
        """Give labelled lines without paths, and without options nobody types here."""
        return [(label, self.worded(text)) for label, text in lines]


def _here(option: re.Match[str]) -> str:
    return _ON_A_PAGE.get(option[0], option[0].removeprefix("--").replace("-", " "))
