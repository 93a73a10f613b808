"""Put a page together from its template, in the look and the units that are chosen."""

from __future__ import annotations

import hashlib
import re
import secrets
from functools import cache
from pathlib import Path
from typing import Any, Literal

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from lapping.phone.shop import Shop

_HERE = Path(__file__).resolve().parent
STATIC = {path.name: path for path in sorted((_HERE / "static").iterdir())}
"""The files of the pages by their names; no others are given out."""
_SENT_FROM = re.compile(r"(/set/\d+)/(?:reading|finish|note)")
UNITS_COOKIE = "lapping-units"
Units = Literal["um", "thou"]
UNITS: tuple[Units, ...] = ("um", "thou")


@cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@cache
def _version() -> str:
    """Name what the static files hold, so that a phone keeps them until they change."""
    content = b"".join(path.read_bytes() for path in STATIC.values())
    return hashlib.sha256(content).hexdigest()[:12]


def show(
    shop: Shop,
    request: Request,
    template: str,
    *,
    status: int = 200,
    **values: Any,
) -> Response:
    """Give a page, or a piece of one."""
    known = {
        "token": shop.door.keys.token,
        "key": secrets.token_urlsafe(16),
        "units": units_of(request),
        "here": page_of(request.url.path),
        "static": f"/static/{_version()}",
        "refresh": None,
    }
    page = _environment().get_template(template).render(known | values)
    return HTMLResponse(page, status)


def page_of(path: str) -> str:
    """Give the page that a form sent to this path stands on."""
    return _SENT_FROM.sub(r"\1", path)


def go_to(path: str) -> Response:
    """Send on to a page, so that going back or loading again repeats nothing."""
    return RedirectResponse(path, 303)


def units_of(request: Request) -> Units | None:
    """Give the unit chosen on this phone, None where that of the readings will do."""
    said = request.cookies.get(UNITS_COOKIE)
    return next((one for one in UNITS if one == said), None)


def wants_json(request: Request) -> bool:
    """Say whether our own script asks, and not a person."""
    return request.headers.get("accept", "") == "application/json"


def markup(text: str) -> Markup:
    """Mark text that was made here as HTML already."""
    return Markup(text)
