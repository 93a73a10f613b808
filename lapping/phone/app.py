"""The pages and where they are found."""

from __future__ import annotations

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp

from lapping.errors import LappingError, LogRefused
from lapping.phone.forms import change, page
from lapping.phone.guard import Guard
from lapping.phone.looks import STATIC, show, wants_json
from lapping.phone.shop import NotHere, Shop

PAGES: tuple[tuple[str, str], ...] = (
    ("/", "plane_pages.home"),
    ("/in/{secret}", "door_pages.way_in"),
    ("/plane/new", "plane_pages.new_plane"),
    ("/plane/{number:int}/face", "plane_pages.new_face"),
    ("/face/{number:int}", "face_pages.face"),
    ("/face/{number:int}/answer", "face_pages.answer"),
    ("/face/{number:int}/map", "face_pages.face_map"),
    ("/face/{number:int}/history", "face_pages.history"),
    ("/face/{number:int}/strokes", "stroke_pages.strokes"),
    ("/face/{number:int}/sizes", "size_pages.sizes"),
    ("/face/{number:int}/read", "gauge_pages.read"),
    ("/face/{number:int}/gauge", "gauge_pages.new_gauge"),
    ("/face/{number:int}/photos", "photo_pages.photos"),
    ("/set/{number:int}", "set_pages.reading_set"),
    ("/set/{number:int}/state", "set_pages.state"),
    ("/set/{number:int}/turned", "set_pages.turned"),
    ("/photo/{number:int}", "photo_pages.photo"),
    ("/photo/{number:int}/state", "photo_pages.state"),
    ("/photo/{number:int}/picture", "photo_pages.picture"),
    ("/photo/{number:int}/contact", "photo_pages.contact"),
    ("/photo/{number:int}/corners", "photo_pages.corners"),
    ("/face/{number:int}/report", "report_pages.report"),
    ("/face/{number:int}/report/state", "report_pages.state"),
    ("/face/{number:int}/report/file", "report_pages.download"),
    ("/face/{number:int}/sheets", "sheet_pages.face_sheets"),
    ("/face/{number:int}/sheets/{method}", "sheet_pages.readings"),
    ("/sheets", "sheet_pages.sheets"),
    ("/sheets/corners/{paper}", "sheet_pages.corners"),
)
"""Paths and what gives the page, by name: each is loaded when it is first asked for."""
CHANGES: tuple[tuple[str, str], ...] = (
    ("/plane/new", "plane_pages.keep_plane"),
    ("/plane/{number:int}/face", "plane_pages.keep_face"),
    ("/face/{number:int}/strokes", "stroke_pages.keep"),
    ("/face/{number:int}/sizes", "size_pages.keep"),
    ("/face/{number:int}/read", "gauge_pages.begin"),
    ("/face/{number:int}/gauge", "gauge_pages.keep_gauge"),
    ("/face/{number:int}/photos", "photo_pages.keep"),
    ("/set/{number:int}/reading", "set_pages.keep"),
    ("/set/{number:int}/note", "set_pages.note"),
    ("/set/{number:int}/finish", "set_pages.finish"),
    ("/set/{number:int}/turned", "set_pages.turn"),
    ("/photo/{number:int}/corners", "photo_pages.keep_corners"),
    ("/photo/{number:int}/swap", "photo_pages.swap"),
    ("/entry/{number:int}/back", "face_pages.give_back"),
    ("/units", "door_pages.units"),
)


def application(shop: Shop) -> ASGIApp:
    """Give the pages of a shop behind their guard."""
    routes = [Route("/static/{version}/{name}", _static, methods=["GET"])]
    routes += [Route(path, page(shop, give), methods=["GET"]) for path, give in PAGES]
    routes += [
        Route(path, change(shop, make), methods=["POST"]) for path, make in CHANGES
    ]

    async def refused(request: Request, problem: Exception) -> Response:
        return _refused(shop, request, problem)

    pages = Starlette(
        routes=routes,
        exception_handlers={
            LappingError: refused,
            HTTPException: refused,
            Exception: refused,
        },
    )
    return Guard(pages, shop.door)


def _refused(shop: Shop, request: Request, problem: Exception) -> Response:
    """Say in a sentence why there is no page."""
    headers = None
    if isinstance(problem, HTTPException):
        status, headers = problem.status_code, problem.headers
        said = "There is no such page." if status == 404 else problem.detail
    elif isinstance(problem, LappingError):
        status = 503 if isinstance(problem, LogRefused) else 422
        status = 404 if isinstance(problem, NotHere) else status
        said = shop.worded(str(problem))
    else:
        # The server's own handler goes on to raise it, so the terminal shows it all.
        status = 500
        said = "A mistake of the program; the terminal it runs in says more."
    if wants_json(request):
        return JSONResponse({"said": said}, status, headers=headers)
    return show(shop, request, "refused.html", status=status, said=said, here="/")


async def _static(request: Request) -> Response:
    path = STATIC.get(request.path_params["name"])
    if path is None:
        raise HTTPException(404)
    return FileResponse(path)
