"""The command `print readings`: a face and a pattern onto paper."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lapping.cli.log_place import the_log
from lapping.errors import BadInput
from lapping.from_log.sheet import With, sheet_for, sheet_of
from lapping.history import Gauge
from lapping.kept import Settings
from lapping.log.bench import the_named
from lapping.log.planes import read_settings, the_face
from lapping.patterns.walk import amount_words
from lapping.printed.reading_sheet import ReadingSheet, save_reading_sheet

WHICH = (
    "say which face: Bramble/sole, or --length 250mm --width 60mm, "
    "and --mouth '80mm to 86mm' if it has one"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What was said on the command line; None where nothing was."""

    face: str | None = None
    sizes: tuple[str | None, str | None, str | None] = (None, None, None)
    kind: str = "sole"
    gauge: str | None = None
    method: str | None = None
    base: str | None = None
    log: str | None = None

    @property
    def read_with(self) -> With:
        """Give what is read with."""
        return With(gauge=self.gauge, method=self.method, base=self.base)


def print_readings(wanted: Wanted, output: Path | None, paper: str) -> tuple[Path, str]:
    """Write the sheet; give where to, and for what."""
    sheet = _of_the_log(wanted) if wanted.face else sheet_of_sizes(wanted)
    name = "".join(c if c.isalnum() or c in "-." else "_" for c in sheet.label)
    path = Path(f"{name}_readings.pdf") if output is None else output
    save_reading_sheet(sheet, path, paper)
    return path, f"{amount_words(sheet.pattern)} by {sheet.gauge}"


def _of_the_log(wanted: Wanted) -> ReadingSheet:
    if any(wanted.sizes):
        message = f"{wanted.face} has its size in the log; leave the sizes out"
        raise BadInput(message)
    with the_log(wanted.log, read_only=True) as log:
        return sheet_of(log, the_face(log, wanted.face or ""), wanted.read_with)


def sheet_of_sizes(wanted: Wanted) -> ReadingSheet:
    """Give the sheet for a face that is not in the log."""
    length, width, mouth = wanted.sizes
    if length is None or width is None:
        raise BadInput(WHICH)
    said: Settings = (("face", wanted.kind), ("length", length), ("width", width))
    if mouth is not None:
        said = (*said, ("mouth", mouth))
    face = read_settings(said)
    gauge = None
    if wanted.gauge is not None:
        with the_log(wanted.log, read_only=True) as log:
            gauge = the_named(log, Gauge, wanted.gauge).fact
    label = f"{face.kind} {face.length_mm:g}x{face.width_mm:g}"
    return sheet_for(label, face, said, gauge, wanted.read_with)
