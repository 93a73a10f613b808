"""The report on a face, to keep, to send and to print."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from lapping.errors import BadInput
from lapping.log.planes import face_label
from lapping.phone.forms import file_name
from lapping.phone.found import face_at
from lapping.phone.looks import show, units_of
from lapping.phone.shop import Shop
from lapping.phone.work import report_of


def report(shop: Shop, request: Request) -> Response:
    """Show how far the report is, and give it for download once it is there."""
    root = request.path_params["number"]
    with shop.looking() as log:
        label = face_label(log, face_at(log, root))
        work = report_of(shop, log, root, units_of(request))
    wrong = work.refused if work.done else None
    return show(
        shop,
        request,
        "report.html",
        refresh=None if work.done else 2,
        root=root,
        label=label,
        work=work,
        wrong=None if wrong is None else shop.worded(wrong),
    )


def state(shop: Shop, request: Request) -> Response:
    """Say whether the report is there, and how long it has taken."""
    root = request.path_params["number"]
    with shop.looking() as log:
        face_at(log, root)
        work = report_of(shop, log, root, units_of(request))
    return JSONResponse({"done": work.done, "seconds": work.seconds})


def download(shop: Shop, request: Request) -> Response:
    """Give the report as a file; its own style would not be let into a page of ours."""
    root = request.path_params["number"]
    with shop.looking() as log:
        label = face_label(log, face_at(log, root))
        work = report_of(shop, log, root, units_of(request))
    if work.future.exception() is not None:
        raise BadInput(work.refused or "")
    return Response(
        work.found,
        media_type="text/html; charset=utf-8",
        headers={"content-disposition": f'attachment; filename="{file_name(label)}"'},
    )
