"""Sheets for paper, to open on the phone and print from it."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from lapping.log.planes import face_label
from lapping.phone.found import face_at
from lapping.phone.looks import show
from lapping.phone.shop import Shop
from lapping.phone.work import corner_sheet, reading_sheet_of
from lapping.prompt.gauge import WORDS

PAPERS = ("A4", "Letter")


def sheets(shop: Shop, request: Request) -> Response:
    """List what can be printed."""
    return show(shop, request, "sheets.html", papers=PAPERS, label=None)


def face_sheets(shop: Shop, request: Request) -> Response:
    """List what can be printed for a face."""
    with shop.looking() as log:
        face = face_at(log, request.path_params["number"])
        label = face_label(log, face)
    side = dict(face.fact.settings).get("face") == "side"
    return show(
        shop,
        request,
        "sheets.html",
        papers=PAPERS,
        label=label,
        root=face.root,
        methods=[word for word in WORDS if side or word != "square"],
    )


def readings(shop: Shop, request: Request) -> Response:
    """Give a sheet to read a face on paper as a PDF."""
    paper, method = request.query_params.get("paper"), request.path_params["method"]
    if paper not in PAPERS or method not in WORDS:
        raise HTTPException(404)
    with shop.looking() as log:
        face = face_at(log, request.path_params["number"])
        sheet = reading_sheet_of(log, face, method, paper)
    return _pdf(sheet, f"readings-{method}-{paper}")


def corners(shop: Shop, request: Request) -> Response:
    """Give the sheet of corner cards as a PDF."""
    paper = request.path_params["paper"].removesuffix(".pdf")
    if paper not in PAPERS:
        raise HTTPException(404)
    return _pdf(corner_sheet(paper), f"corners-{paper}")


def _pdf(content: bytes, name: str) -> Response:
    return Response(
        content,
        media_type="application/pdf",
        headers={"content-disposition": f'inline; filename="{name}.pdf"'},
    )
