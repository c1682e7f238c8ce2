"""Sending a large file piece by piece, under either kind of server."""

import asyncio
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Final, cast

from django.core.handlers.asgi import ASGIRequest
from django.http import FileResponse, HttpRequest, HttpResponse, StreamingHttpResponse

_BLOCK: Final = 1 << 18


def sent(request: HttpRequest, path: Path) -> HttpResponse:
    """Return a zip file as an answer that is never whole in memory."""
    if not isinstance(request, ASGIRequest):
        answer: StreamingHttpResponse = FileResponse(path.open("rb"))
    else:
        # Django would read a plain file to its end before it sends the first byte.
        answer = StreamingHttpResponse(_pieces(path))
        answer.headers["Content-Length"] = str(path.stat().st_size)
    answer.headers["Content-Type"] = "application/zip"
    answer.headers["Content-Disposition"] = f'attachment; filename="{path.name}"'
    return cast("HttpResponse", answer)


async def _pieces(path: Path) -> AsyncIterator[bytes]:
    with await asyncio.to_thread(path.open, "rb") as file:
        while piece := await asyncio.to_thread(file.read, _BLOCK):
            yield piece
