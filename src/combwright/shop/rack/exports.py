"""The page that offers what the shop gives out, and the files themselves."""

from collections.abc import AsyncIterator, Iterator
from typing import Final

from asgiref.sync import sync_to_async
from django.core.handlers.asgi import ASGIRequest
from django.http import Http404, HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.rack.export_files import WRITERS, zip_parts
from combwright.shop.rack.tables import TABLES

_KINDS: Final = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "zip": "application/zip",
}


@require_safe
@needs(May.LOOK)
def export(request: ShopRequest) -> HttpResponse:
    """Offer every table as CSV and as XLSX, and all of them in one file."""
    return render(request, "rack/export.html", {"tables": TABLES.values()})


@require_safe
@needs(May.LOOK)
def table_file(request: ShopRequest, name: str, ending: str) -> HttpResponse:
    """Send one table."""
    if name not in TABLES or ending not in WRITERS:
        raise Http404
    return _download(request, WRITERS[ending](TABLES[name]), f"{name}.{ending}")


@require_safe
@needs(May.LOOK)
def everything(request: ShopRequest, ending: str) -> HttpResponse:
    """Send all tables in one ZIP."""
    if ending not in WRITERS:
        raise Http404
    return _download(request, zip_parts(TABLES.values(), ending), f"shop-{ending}.zip")


def _download(request: HttpRequest, parts: Iterator[bytes], name: str) -> HttpResponse:
    given = _in_turn(parts) if isinstance(request, ASGIRequest) else parts
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    kind = _KINDS[name.rpartition(".")[2]]
    return StreamingHttpResponse(given, content_type=kind, headers=headers)  # type: ignore[return-value]


async def _in_turn(parts: Iterator[bytes]) -> AsyncIterator[bytes]:
    """Give the parts to an asynchronous server, which would gather them all first otherwise."""
    following = sync_to_async(lambda: next(parts, None))
    while (part := await following()) is not None:
        yield part
