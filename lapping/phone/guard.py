"""What every request passes first: host, way in, origin, and how much may come.

It stands before the pages and knows nothing of them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lapping.phone.keys import Attempts, Keys, same

MOST_FORM_BYTES = 64_000
MOST_PHOTO_BYTES = 60_000_000
WAY_IN = "/in/"
STATIC = "/static/"
_PHOTOS = re.compile(r"/face/\d+/photos")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
}
WAIT = "Too many wrong keys. Wait a minute, then scan the code again."
STRANGER = (
    "This page needs the key: scan the code that 'lapping phone --share' shows in its "
    "terminal."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """Who may come in: by which names of this machine, and whether with the secret."""

    hosts: frozenset[str]
    keys: Keys
    shared: bool
    cookie: str
    attempts: Attempts = field(default_factory=Attempts)


class Guard:
    """Let a request through to the pages, or answer it with a sentence."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        """Stand before the pages."""
        self.app, self.door = app, door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Look at one request."""
        if scope["type"] != "http":
            return  # no web sockets, and nothing to do at start and end
        headers = Headers(scope=scope)
        send = _with_headers(send, static=scope["path"].startswith(STATIC))
        refused = self._refuse(scope, headers)
        most = _most_bytes(scope["path"])
        if refused is None and _length(headers) > most:
            refused = _said(_too_much(most), 413)
        if refused is not None:
            await refused(scope, receive, send)
            return
        await self.app(scope, _limited(receive, most), send)

    def _refuse(self, scope: Scope, headers: Headers) -> PlainTextResponse | None:
        door, path = self.door, scope["path"]
        host = headers.get("host", "").lower()
        if host not in door.hosts:
            return _said("This is not the address of the bench.", 421)
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return _said("The pages know GET and POST.", 405)
        if scope["method"] == "POST" and not _from_here(headers, host):
            return _said("This did not come from a page of the bench.", 403)
        if not door.shared or path.startswith((WAY_IN, STATIC)):
            return None
        return self._without_cookie(scope, headers)

    def _without_cookie(
        self, scope: Scope, headers: Headers
    ) -> PlainTextResponse | None:
        door = self.door
        said = _cookie(headers.get("cookie", ""), door.cookie)
        if said is not None and same(said, door.keys.cookie):
            return None
        address = address_of(scope)
        if door.attempts.too_many(address):
            return _said(WAIT, 429)
        if said is not None:
            door.attempts.wrong(address)
        return _said(STRANGER, 403)


def address_of(scope: Scope) -> str:
    """Give the address that a request came from."""
    client = scope.get("client")
    return client[0] if client else ""


def _from_here(headers: Headers, host: str) -> bool:
    site = headers.get("sec-fetch-site", "same-origin")
    return site == "same-origin" and headers.get("origin", "") == f"http://{host}"


def _cookie(header: str, name: str) -> str | None:
    try:
        found = SimpleCookie(header).get(name)
    except CookieError:
        return None
    return None if found is None else found.value


def _most_bytes(path: str) -> int:
    return MOST_PHOTO_BYTES if _PHOTOS.fullmatch(path) else MOST_FORM_BYTES


def _length(headers: Headers) -> int:
    said = headers.get("content-length", "0")
    return int(said) if said.isascii() and said.isdecimal() and len(said) < 20 else 0


def _limited(receive: Receive, most: int) -> Receive:
    came = 0

    async def received() -> Message:
        nonlocal came
        message = await receive()
        came += len(message.get("body", b""))
        if came > most:
            raise HTTPException(413, _too_much(most))
        return message

    return received


def _with_headers(send: Send, *, static: bool) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            headers["cache-control"] = (
                "public, max-age=31536000, immutable" if static else "no-store"
            )
        await send(message)

    return sent


def _too_much(most: int) -> str:
    large = f"{most / 1e6:.0f} MB" if most >= 1e6 else f"{most // 1000} kB"
    return f"That is too much: at most {large} at once. Nothing was kept."


def _said(sentence: str, status: int) -> PlainTextResponse:
    # The rest of what was being sent is not waited for.
    return PlainTextResponse(sentence, status, headers={"connection": "close"})
