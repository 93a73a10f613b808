"""Write a file whole or not at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

from lapping.errors import BadInput


def check_target(path: Path, endings: tuple[str, ...]) -> str:
    """Give the ending of a file about to be written; BadInput if it cannot be."""
    ending = path.suffix.lower()
    # Not path.is_dir(): that raises where the name is too long for the disk.
    if os.path.isdir(path):
        message = f"{path} is a folder; give the file a name of its own."
        raise BadInput(message)
    if ending not in endings:
        listed = ", ".join(endings[:-1]) + f" or {endings[-1]}"
        message = f"{path}: the name must end in {listed}."
        raise BadInput(message)
    if not os.path.isdir(path.parent):
        message = f"{path}: there is no folder {path.parent}; make it first."
        raise BadInput(message)
    return ending


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
