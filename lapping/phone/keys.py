"""The secret that lets a phone in, what is made of it, and what slows down guessing."""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from lapping.errors import LogRefused

SECRET_BYTES = 32
ENDING = ".phone-key"
MOST_WRONG, WITHIN_SECONDS = 5, 60.0
MOST_REMEMBERED = 1000


@dataclass(frozen=True, slots=True)
class Keys:
    """The secret of a log's pages; cookie and token are made of it and do not tell it.

    The cookie is a phone's way in after its first visit, and the token proves that a
    change comes from a page of ours.
    """

    secret: str

    @property
    def cookie(self) -> str:
        """Give what the cookie of a phone holds that was let in."""
        return self._made_for(b"cookie")

    @property
    def token(self) -> str:
        """Give what every form of ours sends along."""
        return self._made_for(b"token")

    def _made_for(self, what: bytes) -> str:
        return hmac.new(self.secret.encode(), what, hashlib.sha256).hexdigest()


def same(said: str, known: str) -> bool:
    """Compare in a time that does not tell how much of it is right."""
    return hmac.compare_digest(said.encode("utf-8", "replace"), known.encode())


def kept_keys(log: Path, *, new: bool) -> Keys:
    """Give the keys kept beside the log, so that a restart throws no phone out.

    ``new`` makes others, and every phone has to be let in again.
    """
    path = log.with_name(f"{log.name}{ENDING}")
    try:
        if not new and path.exists():
            kept = path.read_text("ascii").strip()
            if len(kept) >= SECRET_BYTES:
                return Keys(kept)
        made = Keys(secrets.token_urlsafe(SECRET_BYTES))
        path.unlink(missing_ok=True)
        # Readable by its owner from the first moment on.
        opened = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(opened, "w", encoding="ascii") as file:
            file.write(f"{made.secret}\n")
    except (OSError, ValueError) as problem:
        message = f"{path}: the key for phones cannot be kept there ({problem})"
        raise LogRefused(message) from problem
    return made


class Attempts:
    """Wrong secrets of late, by the address they came from."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        """Remember nothing yet."""
        self._clock = clock
        self._wrong: dict[str, list[float]] = {}

    def too_many(self, address: str) -> bool:
        """Say whether this address has to wait."""
        return len(self._of_late(address)) >= MOST_WRONG

    def wrong(self, address: str) -> None:
        """Remember a wrong secret."""
        late = [*self._of_late(address), self._clock()]
        self._wrong.pop(address, None)
        self._wrong[address] = late[-MOST_WRONG:]
        while len(self._wrong) > MOST_REMEMBERED:
            del self._wrong[next(iter(self._wrong))]

    def _of_late(self, address: str) -> list[float]:
        since = self._clock() - WITHIN_SECONDS
        return [at for at in self._wrong.get(address, []) if at > since]
