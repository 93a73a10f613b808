"""What a form of ours sent, taken apart with its token checked, or refused."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from importlib import import_module
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from lapping.errors import BadInput
from lapping.phone.keys import same
from lapping.phone.looks import go_to, page_of, wants_json
from lapping.phone.refusals import ASKED, REFUSED
from lapping.phone.shop import Shop

MOST_FIELDS, MOST_FILES = 40, 4
_BARE = re.compile(r"[\d.]+")
_COMMA = re.compile(r"(?<!\S)(-?\d+),(\d+)(?=\s*[a-zµ]*(?:\s|$|/))", re.IGNORECASE)
_FRACTION = re.compile(r"(?:(\d{1,4})[ -])?(\d{1,3})/(\d{1,3})(?=\s*(?:in|\"|$))")
_NO_LETTER = re.compile(r"[^A-Za-z0-9-]")
_HERE = re.compile(r"/(?:[a-z]+(?:/\d+)?/?)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """The fields of a form as typed, and the files in it by their fields."""

    fields: dict[str, str]
    files: dict[str, bytes]

    def __getitem__(self, name: str) -> str:
        """Give a field without spaces at its ends, empty where it was not sent."""
        return self.fields.get(name, "").strip()

    def said(self, name: str) -> str | None:
        """Give a field, None where nothing was said."""
        return self[name] or None

    def with_unit(self, name: str, unit: str) -> str | None:
        """Give a length; a bare number has the unit chosen beside it."""
        text = plainly(self[name])
        return f"{text}{unit}" if _BARE.fullmatch(text) else text or None

    def ticked(self, name: str) -> bool:
        """Say whether a box was ticked."""
        return self[name] == "yes"

    def number(self, name: str) -> int:
        """Give a whole number from 0, or refuse."""
        text = self[name]
        if not (text.isascii() and text.isdecimal() and len(text) < 10):
            message = "the page sent something else than it should; load it again"
            raise BadInput(message)
        return int(text)

    @property
    def back_to(self) -> str:
        """Give the page to go back to, which is one of ours."""
        path = self["back_to"]
        return path if _HERE.fullmatch(path) and "//" not in path else "/"


Page = Callable[[Shop, Request], Response]
Change = Callable[[Shop, Request, Sent], Response]
Endpoint = Callable[[Request], Awaitable[Response]]


def page(shop: Shop, name: str) -> Endpoint:
    """Make an endpoint of a page; it opens the log in a thread of its own."""

    def give(request: Request) -> Response:
        asked = request.query_params.get(ASKED)
        refused = shop.refusals.shown(request.url.path, asked)
        made: Page = named(name)
        return refused or made(shop, request)

    async def endpoint(request: Request) -> Response:
        return await run_in_threadpool(give, request)

    return endpoint


def change(shop: Shop, name: str) -> Endpoint:
    """Make an endpoint of a change, which needs the token of a page of ours."""

    def make(request: Request, sent: Sent) -> Response:
        made: Change = named(name)
        return made(shop, request, sent)

    async def endpoint(request: Request) -> Response:
        sent = await _read(request)
        if not same(sent["token"], shop.door.keys.token):
            raise HTTPException(403, "This form is out of date; load the page again.")
        answer = await run_in_threadpool(make, request, sent)
        if answer.status_code not in REFUSED or wants_json(request):
            return answer
        path = page_of(request.url.path)
        return go_to(shop.refusals.keep(path, answer))

    return endpoint


def named(name: str) -> Any:
    """Give what makes a page by its name, ``face_pages.face``, loaded if need be."""
    module, _, function = name.partition(".")
    return getattr(import_module(f"lapping.phone.{module}"), function)


def plainly(text: str) -> str:
    """Give a number with a decimal comma or a fraction as one with a point."""
    text = _COMMA.sub(r"\1.\2", text)
    return _FRACTION.sub(_decimal, text)


def _decimal(found: re.Match[str]) -> str:
    whole, part, of = (int(one or 0) for one in found.groups())
    return f"{whole + part / of:g}" if of else found[0]


async def _read(request: Request) -> Sent:
    fields: dict[str, str] = {}
    files: dict[str, bytes] = {}
    async with request.form(max_fields=MOST_FIELDS, max_files=MOST_FILES) as form:
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                # What the phone calls it is no business of ours.
                content = await value.read()
                if content:
                    files[name] = content
            elif name not in fields:
                fields[name] = value
    return Sent(fields=fields, files=files)


def file_name(label: str) -> str:
    """Give a name for the report on a face that any machine can keep."""
    plain = "".join(
        c if c.isascii() and (c.isalnum() or c == "-") else "_" for c in label
    )
    return f"{plain}_report.html"
