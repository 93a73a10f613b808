"""Sheets for paper, to open on the phone and print from it."""

from __future__ import annotations

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from lapping.phone.looks import show
from lapping.phone.shop import Shop
from lapping.phone.work import corner_sheet

PAPERS = ("A4", "Letter")


def sheets(shop: Shop, request: Request) -> Response:
    """List what can be printed."""
    return show(shop, request, "sheets.html", papers=PAPERS)


def corners(shop: Shop, request: Request) -> Response:
    """Give the sheet of corner cards as a PDF."""
    paper = request.path_params["paper"].removesuffix(".pdf")
    if paper not in PAPERS:
        raise HTTPException(404)
    return Response(
        corner_sheet(paper),
        media_type="application/pdf",
        headers={"content-disposition": f'inline; filename="corners-{paper}.pdf"'},
    )
