"""Write what was sent once, however often it comes.

A phone that loses its connection does not know whether what it sent was kept, and
sends it again. Each sending has a key of its own, which its first entry keeps.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from lapping.errors import BadInput
from lapping.log.opening import Log, writing

LONGEST_KEY = 100


@contextmanager
def once(log: Log, key: str) -> Iterator[int | None]:
    """Give the entry this sending made before, or None: then write it, whole.

    Where an entry is given nothing may be written. What writes nothing keeps no key.
    """
    if not (0 < len(key) <= LONGEST_KEY and key.isascii() and key.isprintable()):
        message = "what was sent has no key of its own; load the page again"
        raise BadInput(message)
    with writing(log):
        found = log.db.execute(
            "SELECT id FROM entry WHERE sent_as = ?", (key,)
        ).fetchone()
        log.sending = None if found else key
        try:
            yield None if found is None else int(found[0])
        finally:
            log.sending = None
