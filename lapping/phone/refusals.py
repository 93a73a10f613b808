"""Forms that were refused, kept a while, so that going back sends nothing again."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict

from starlette.responses import HTMLResponse, Response

MOST_KEPT = 40
ASKED = "refused"
"""The name under which an address says which refused form it shows."""
REFUSED = (409, 422)


class Refusals:
    """The pages that say why a form was refused, with what was typed in it."""

    def __init__(self) -> None:
        """Keep none yet."""
        self._pages: OrderedDict[str, tuple[str, bytes, int]] = OrderedDict()
        self._lock = threading.Lock()

    def keep(self, path: str, page: Response) -> str:
        """Keep a page for the form at a path; give the address that shows it."""
        name = secrets.token_urlsafe(12)
        with self._lock:
            self._pages[name] = (path, bytes(page.body), page.status_code)
            while len(self._pages) > MOST_KEPT:
                self._pages.popitem(last=False)
        return f"{path}?{ASKED}={name}"

    def shown(self, path: str, name: str | None) -> Response | None:
        """Give the page kept under a name for this path, None if it is gone."""
        with self._lock:
            found = self._pages.get(name or "")
        if found is None or found[0] != path:
            return None
        return HTMLResponse(found[1], found[2])
