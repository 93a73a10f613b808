"""The way in with the secret, and what a phone remembers for itself."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from lapping.phone.forms import Sent
from lapping.phone.guard import WAIT, address_of
from lapping.phone.keys import same
from lapping.phone.looks import UNITS_COOKIE, go_to, show
from lapping.phone.shop import Shop

YEAR_SECONDS = 365 * 24 * 3600


def way_in(shop: Shop, request: Request) -> Response:
    """Let a phone in that has the secret, and give it its cookie."""
    door, address = shop.door, address_of(request.scope)
    if door.attempts.too_many(address):
        raise HTTPException(429, WAIT)
    if not same(request.path_params["secret"], door.keys.secret):
        door.attempts.wrong(address)
        raise HTTPException(403, "This key is not the right one; scan the code again.")
    # Not sent on by a redirect: a browser does not send a strict cookie along with one
    # that began at the camera.
    answer = show(shop, request, "door.html", refresh=0, here="/")
    answer.set_cookie(
        door.cookie,
        door.keys.cookie,
        max_age=YEAR_SECONDS,
        httponly=True,
        samesite="strict",
    )
    return answer


def units(shop: Shop, request: Request, sent: Sent) -> Response:
    """Switch the unit of figures on this phone."""
    answer = go_to(sent.back_to)
    answer.set_cookie(
        UNITS_COOKIE,
        "thou" if sent["units"] == "thou" else "um",
        max_age=YEAR_SECONDS,
        httponly=True,
        samesite="strict",
    )
    return answer
