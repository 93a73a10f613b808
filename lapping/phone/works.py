"""Work that takes longer than a page may: done beside, and asked after again.

What was found is kept for as long as what it was found from stays the same.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

from lapping.errors import LappingError

MOST_KEPT = 12
MISTAKE = "A mistake of the program; the terminal it runs in says more."
_TERMINAL = logging.getLogger("uvicorn.error")
What = tuple[str, int]
"""The kind of work, and the entry it is about."""


@dataclass(slots=True, kw_only=True, eq=False)
class Work:
    """One piece of work: for which state of the log, since when, and its outcome."""

    version: Hashable
    future: Future[Any]
    begun: float = field(default_factory=time.monotonic)

    @property
    def done(self) -> bool:
        """Say whether it is over."""
        return self.future.done()

    @property
    def seconds(self) -> int:
        """Say how long it has been going on."""
        return int(time.monotonic() - self.begun)

    @property
    def refused(self) -> str | None:
        """Give the sentence if what was asked cannot be answered."""
        problem = self.future.exception()
        if problem is None or isinstance(problem, LappingError):
            return None if problem is None else str(problem)
        # The page goes on without the answer, and the terminal shows the mistake.
        _TERMINAL.error("while working beside a page:", exc_info=problem)
        return MISTAKE

    @property
    def found(self) -> Any:
        """Give what was found; only where it is done and not refused."""
        return self.future.result()


class Works:
    """All work going on, and what was found of late."""

    def __init__(self) -> None:
        """Begin with nothing to do."""
        self._pools: dict[str, ThreadPoolExecutor] = {}
        self._works: OrderedDict[What, Work] = OrderedDict()
        self._lock = threading.Lock()

    def ask(self, what: What, version: Hashable, do: Callable[[], object]) -> Work:
        """Give the work on something, begun now unless it is there in this version.

        One that is still going on for an older version is given until it is done.
        Works of a kind wait for each other; they may wait for one of another kind.
        """
        with self._lock:
            known = self._works.get(what)
            if known is None or (known.version != version and known.done):
                known = Work(version=version, future=self._pool(what[0]).submit(do))
                self._works[what] = known
            self._works.move_to_end(what)
            for old in [k for k, w in self._works.items() if w.done and k != what]:
                if len(self._works) <= MOST_KEPT:
                    break
                del self._works[old]
            return known

    def _pool(self, kind: str) -> ThreadPoolExecutor:
        if kind not in self._pools:
            self._pools[kind] = ThreadPoolExecutor(1, thread_name_prefix=kind)
        return self._pools[kind]

    def close(self) -> None:
        """Leave what was not begun undone."""
        for pool in self._pools.values():
            pool.shutdown(wait=False, cancel_futures=True)
