"""The command `demo`: the sample faces, each with its story and the main lines."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from lapping.answer import answer
from lapping.errors import BadInput
from lapping.from_files import read_files
from lapping.report import LABEL, WIDTH, report

FOLDER = "sample_measurements"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """One invented face: its story, the entries of its answer to show, and why."""

    file: str
    story: str
    look_at: str
    shows: tuple[str, ...] = ()


SAMPLES = (
    Sample(
        file="clover_passes.csv",
        story="A block plane after lapping, its target 50 µm.",
        look_at="Flat: even the upper end of the range is under what is allowed.",
    ),
    Sample(
        file="clover_coarse_dial.csv",
        story="The same sole on the same day, by an old dial in whole thou.",
        look_at="the gauge, not the plane, is why nothing can be told.",
        shows=("To settle",),
    ),
    Sample(
        file="bramble_hollow_behind_mouth.csv",
        story="A smoother that tears out, although toe and heel touch.",
        look_at="the hollow behind the mouth takes the land ahead of it along.",
        shows=("Low",),
    ),
    Sample(
        file="bramble_side.csv",
        story="Its cheek, for the shooting board: it rocks.",
        look_at="crown along; toe and heel agree, but the middle stands proud.",
        shows=("Bow",),
    ),
    Sample(
        file="teasel_twist.csv",
        story="A jack plane that never seems to come flat.",
        look_at="the twist: two opposite corners carry it, and it rocks on them.",
        shows=("Twist",),
    ),
    Sample(
        file="sorrel_sunk_rivet.csv",
        story="A riveted sole of which one rivet has sunk.",
        look_at="one low spot, small and harmless: leave it.",
        shows=("Low",),
    ),
    Sample(
        file="bracken_leaves.csv",
        story="A long jointer, read with feeler leaves at rim and mouth only.",
        look_at="leaves are coarse, yet prove enough; the middle stays unseen.",
        shows=("Not seen",),
    ),
    Sample(
        file="nettle_heel_for_toe.csv",
        story="A notebook page whose columns were counted from the heel.",
        look_at="refused: some places would lie in the mouth; turned, none does.",
    ),
)


def show_samples() -> None:
    """Check every sample and print what matters in it."""
    folder = samples_folder()
    print("Eight invented faces. Each is answered now, as your own would be.")
    for sample in SAMPLES:
        path = folder / sample.file
        print(f"\n{sample.story}\n  $ lapping check {sample.file}")
        for line in short_answer(path, sample.shows):
            print(f"  {line}")
        print(f"  -> {sample.look_at}")
    print(
        "\nNext: copy these files into a new folder, put your own plane and numbers "
        "into\none of them, and ask for the whole answer:\n"
        "  $ lapping demo --copy my_planes\n"
        f"  $ lapping check my_planes/{SAMPLES[0].file}"
    )


def short_answer(path: Path, labels: tuple[str, ...]) -> list[str]:
    """Give the verdicts and the entries asked for, or why the file is refused."""
    try:
        entries = entries_of(report(answer(read_files([path], None))))
    except BadInput as refused:
        first, *more = refused.mistakes
        lines = wrapped(first.replace(str(path), path.name), "")
        if more:
            lines.append(f"(and {len(more)} more sentences, each with its line)")
        return lines
    works, flat = entries["Works?"], entries["Flat?"]
    lines = wrapped(works.partition(":")[0], "Works?")
    # What stands behind the second semicolon is for those who ask for all of it.
    lines += wrapped("; ".join(flat.split("; ")[:2]), "Flat?")
    for label in labels:
        if label in entries:
            lines += wrapped(entries[label], label)
    return lines


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
        for path in sorted(source.glob("*.csv")):
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
