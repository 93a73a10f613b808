"""Write a file whole or not at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from lapping.errors import BadInput

MOST_BYTES = 20_000_000
"""Nothing that this program writes to be looked at is larger."""


def check_target(path: Path, endings: tuple[str, ...]) -> str:
    """Give the ending of a file about to be written; BadInput if it cannot be."""
    ending = path.suffix.lower()
    # Not path.is_dir(): that raises where the name is too long for the disk.
    if os.path.isdir(path):
        message = f"{path} is a folder; give the file a name of its own."
        raise BadInput(message)
    if ending not in endings:
        listed = " or ".join(filter(None, (", ".join(endings[:-1]), endings[-1])))
        message = f"{path}: the name must end in {listed}."
        raise BadInput(message)
    if not os.path.isdir(path.parent):
        message = f"{path}: there is no folder {path.parent}; make it first."
        raise BadInput(message)
    return ending


def keep_other_files(path: Path, sign: bytes) -> None:
    """Refuse to write over a file that was made otherwise; ``sign`` is in our own."""
    try:
        if not path.exists():
            return
        ours = path.stat().st_size <= MOST_BYTES and sign in path.read_bytes()
    except OSError as refused:
        message = f"{path} cannot be looked at: {refused.strerror}."
        raise BadInput(message) from refused
    if not ours:
        message = (
            f"{path} is already there and not from lapping: nothing was written. "
            "Give another name with -o, or move it away."
        )
        raise BadInput(message)


def write_whole(path: Path, content: bytes) -> None:
    """Put the content in place of whatever is there, in one step; BadInput if refused.

    A link stays a link: the file that it leads to is replaced.
    """
    target = Path(os.path.realpath(path))
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        # Renaming over a file asks the folder only, but the file may be protected.
        if target.exists() and not os.access(target, os.W_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        try:
            part.write_bytes(content)
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
    except OSError as refused:
        message = f"{path} cannot be written: {refused.strerror}."
        raise BadInput(message) from refused
