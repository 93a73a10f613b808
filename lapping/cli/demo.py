"""The command `demo`: the sample faces, each with its story and the main lines."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from lapping.answer import answer
from lapping.errors import BadInput
from lapping.from_files import read_files
from lapping.words.answer import report
from lapping.words.labelled import LABEL, WIDTH

FOLDER = "sample_measurements"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One check: its files and story, the entries of the answer to show, and why."""

    files: tuple[str, ...]
    story: str
    look_at: str
    shows: tuple[str, ...] = ()


SAMPLES = (
    Sample(
        files=("clover_passes.csv",),
        story="A block plane after lapping, its target 50 µm.",
        look_at="Flat: even the upper end of the range is under what is allowed.",
    ),
    Sample(
        files=("clover_coarse_dial.csv",),
        story="The same sole on the same day, by an old dial in whole thou.",
        look_at="the gauge, not the plane, is why nothing can be told.",
        shows=("To settle",),
    ),
    Sample(
        files=("bramble_hollow_behind_mouth.csv",),
        story="A smoother that tears out, although toe and heel touch.",
        look_at="the hollow behind the mouth takes the land ahead of it along.",
        shows=("Low",),
    ),
    Sample(
        files=("bramble_side.csv",),
        story="Its cheek, for the shooting board: it rocks.",
        look_at="crown along; toe and heel agree, but the middle stands proud.",
        shows=("Bow",),
    ),
    Sample(
        files=("teasel_twist.csv",),
        story="A jack plane that never seems to come flat.",
        look_at="the twist: two opposite corners carry it, and it rocks on them.",
        shows=("Twist",),
    ),
    Sample(
        files=("sorrel_sunk_rivet.csv",),
        story="A riveted sole of which one rivet has sunk.",
        look_at="one low spot, small and harmless: leave it.",
        shows=("Low",),
    ),
    Sample(
        files=("bracken_leaves.csv",),
        story="A long jointer, read with feeler leaves at rim and mouth only.",
        look_at="leaves are coarse, yet prove enough; the middle stays unseen.",
        shows=("Not seen",),
    ),
    Sample(
        files=("yarrow_no_diagonals.csv",),
        story="A fore plane under a straightedge: each line looks well enough.",
        look_at="no line along or across shows twist; it says what to read next.",
        shows=("Not seen", "To settle"),
    ),
    Sample(
        files=("yarrow_no_diagonals.csv", "yarrow_sticks.csv"),
        story="The same readings, with winding sticks beside them.",
        look_at="now it is answered, and the twist was there all along.",
        shows=("Twist",),
    ),
    Sample(
        files=("nettle_heel_for_toe.csv",),
        story="A notebook page whose columns were counted from the heel.",
        look_at="refused: some places would lie in the mouth; turned, none does.",
    ),
)


def show_samples() -> None:
    """Check every sample and print what matters in it."""
    folder = samples_folder()
    print("Ten checks of invented faces, answered now as your own would be.")
    for sample in SAMPLES:
        paths = [folder / name for name in sample.files]
        print(f"\n{sample.story}\n  $ lapping check {' '.join(sample.files)}")
        for line in short_answer(paths, sample.shows):
            print(f"  {line}")
        print(f"  -> {sample.look_at}")
    print(
        "\nNext: copy these files into a new folder, put your own plane and numbers "
        "into\none of them, and ask for the whole answer:\n"
        "  $ lapping demo --copy my_planes\n"
        f"  $ lapping check my_planes/{SAMPLES[0].files[0]}"
    )


def short_answer(paths: Sequence[Path], labels: tuple[str, ...]) -> list[str]:
    """Give the verdicts and the entries asked for, or why a file is refused."""
    try:
        entries = entries_of(report(answer(read_files(paths, None))))
    except BadInput as refused:
        first, *more = refused.mistakes
        for path in paths:
            first = first.replace(str(path), path.name)
        lines = wrapped(first, "")
        if more:
            lines.append(f"(and {len(more)} more sentences, each with its line)")
        return lines
    lines = wrapped(entries["Works?"].partition(":")[0], "Works?")
    # How sure, the source of the target and the ISO figures are for the whole answer.
    flat = "; ".join(first_sentence(entries["Flat?"]).split("; ")[:2])
    lines += wrapped(flat.partition(" (BS 3623")[0], "Flat?")
    for label in labels:
        if label in entries:
            lines += wrapped(first_sentence(entries[label]), label)
    return lines


def first_sentence(entry: str) -> str:
    """Give what an entry says of these readings, without what holds for all such."""
    first, more, _ = entry.partition(". ")
    return f"{first}." if more else first


def entries_of(text: str) -> dict[str, str]:
    """Take a report apart into its labelled entries, each on one line."""
    entries: dict[str, str] = {}
    label = ""
    for line in text.splitlines():
        start = line[:LABEL].strip()
        if start and line[LABEL : LABEL + 1] == " ":
            label, entries[start] = start, line[LABEL:].strip()
        elif line.startswith(" ") and label:
            entries[label] += " " + line.strip()
    return entries


def wrapped(text: str, label: str) -> list[str]:
    """Lay an entry out as the report does."""
    indent = LABEL + 1 if label else 0
    return textwrap.wrap(
        text,
        WIDTH - 2,
        initial_indent=f"{label:<{indent}}",
        subsequent_indent=" " * indent,
        break_on_hyphens=False,
    )


def samples_folder() -> Path:
    """Find the samples: inside an installed package, or beside it in the sources."""
    package = Path(str(files("lapping")))
    for folder in (package / FOLDER, package.parent / FOLDER):
        if folder.is_dir():
            return folder
    message = (
        "the sample files did not come with this installation; install it again "
        "from its source folder"
    )
    raise BadInput(message)


def copy_samples(target: Path) -> list[Path]:
    """Copy the samples into a new folder; a folder that is already there is refused."""
    source = samples_folder()
    try:
        target.mkdir(parents=True)
        copied = []
        for path in sorted(source.iterdir()):
            copy = target / path.name
            copy.write_bytes(path.read_bytes())
            copied.append(copy)
    except FileExistsError:
        message = f"{target} is already there; name a new folder, nothing was copied"
        raise BadInput(message) from None
    except OSError as problem:
        message = f"{target}: the samples cannot be copied there ({problem.strerror})"
        raise BadInput(message) from None
    return copied
