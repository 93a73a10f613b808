"""Run the examples of the documents and put what they print in place.

    python -m tests.refresh_docs

Three kinds of fenced block are alive, each in the order of its document and all of
them in one new folder that has the sample files and `README.md`'s own files in it:

* ``csv NAME`` is written to a file of that name;
* ``console`` holds lines ``$ command`` with what each printed below it;
* ``python`` is run, and a ``text`` block that follows it holds what it printed.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
FENCE = re.compile(
    r"^```(?P<info>[^\n]*)\n(?P<body>.*?)^```$", re.DOTALL | re.MULTILINE
)
PROMPT = "$ "
INVENTED_DAY = "in 2031-05-04"


@dataclass(frozen=True)
class Block:
    """One fenced block: what it is, its text, and where the text stands."""

    info: str
    body: str
    start: int
    end: int


def documents() -> list[Path]:
    """Give all documents, the README first."""
    found = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")]
    return sorted(found, key=lambda path: (path.parent != ROOT, path.name))


def blocks(text: str) -> list[Block]:
    """Give the fenced blocks of a document in order."""
    return [
        Block(m["info"].strip(), m["body"], m.start("body"), m.end("body"))
        for m in FENCE.finditer(text)
    ]


def is_alive(text: str) -> bool:
    """Say whether a document has examples to run."""
    return any(b.info in {"console", "python"} for b in blocks(text))


def prepare(folder: Path) -> None:
    """Put the sample files and the README's own files in a folder."""
    for path in (ROOT / "sample_measurements").iterdir():
        shutil.copy(path, folder)
    for block in blocks((ROOT / "README.md").read_text("utf-8")):
        write_file(block, folder)


def write_file(block: Block, folder: Path) -> None:
    """Write a ``csv NAME`` block to its file."""
    kind, _, name = block.info.partition(" ")
    if kind == "csv" and name:
        (folder / name).write_text(block.body, encoding="utf-8", newline="\n")


def rerun(text: str, folder: Path) -> str:
    """Give the document with everything its examples print, run anew."""
    new, done = "", 0
    for block, body in printed(text, folder):
        new += text[done : block.start] + body
        done = block.end
    return new + text[done:]


def printed(text: str, folder: Path) -> Iterator[tuple[Block, str]]:
    """Run the examples in order; give each block of output with what belongs there."""
    names: dict[str, object] = {"__name__": "example"}
    said: str | None = None
    for block in blocks(text):
        write_file(block, folder)
        if block.info == "console":
            yield block, console(block.body, folder)
        elif block.info == "python":
            said = run_python(block.body, folder, names)
        elif block.info == "text" and said is not None:
            yield block, said
            said = None


def console(body: str, folder: Path) -> str:
    """Run the commands of a block, as in a terminal in that folder."""
    out = ""
    # The commands are those installed beside the Python that runs this.
    place = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    for line in body.splitlines():
        if line.startswith(PROMPT):
            ran = subprocess.run(
                ["/bin/sh", "-c", line.removeprefix(PROMPT)],
                cwd=folder,
                env={**os.environ, "PATH": place, "PYTHONIOENCODING": "utf-8"},
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                encoding="utf-8",
                check=False,
            )
            if "Traceback (most recent call last)" in ran.stdout:
                # A bug is never what a document should show.
                raise RuntimeError(f"{line}\n{ran.stdout}")
            if any(said.startswith(PROMPT) for said in ran.stdout.splitlines()):
                # The next run would take it for a command of the document.
                message = f"{line} prints a line that begins with {PROMPT!r}"
                raise RuntimeError(message)
            # What is brought in today is shown with its day, and tomorrow is another.
            today = f"in {date.today():%Y-%m-%d}"
            out += f"{line}\n{ran.stdout.replace(today, INVENTED_DAY)}"
    return out


def run_python(body: str, folder: Path, names: dict[str, object]) -> str:
    """Run a block of Python in that folder and give what it printed."""
    out = io.StringIO()
    with contextlib.chdir(folder), contextlib.redirect_stdout(out):
        exec(compile(body, "<document>", "exec"), names)
    return out.getvalue()


def main() -> None:
    """Refresh every document that has examples."""
    import tempfile

    for path in documents():
        old = path.read_text("utf-8")
        if not is_alive(old):
            continue
        with tempfile.TemporaryDirectory() as folder:
            prepare(Path(folder))
            new = rerun(old, Path(folder))
        if new != old:
            path.write_text(new, encoding="utf-8", newline="\n")
            print(f"refreshed {path.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
