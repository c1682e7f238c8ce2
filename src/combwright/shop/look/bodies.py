"""How much may be sent to the shop at once: refused before it is kept, not after.

Django's own server side writes a whole body to disk before it looks at it. So a body is measured
twice: by the length that is said, and, since a length need not be said or be true, as it comes in.
What is beyond the most is thrown away as it comes, so that a browser, which sends everything before
it listens, hears why; but only up to a bound.
"""

from collections.abc import Awaitable, Callable, Mapping
from typing import Any, Final

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from combwright.shop.look.guard import Answer
from combwright.shop.look.turning_away import turn_away

Scope = dict[str, Any]
Message = Mapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

MEBIBYTE: Final = 2**20
#: So many times the most is listened to and thrown away, before the line is cut.
_PATIENCE: Final = 4
_TOO_LARGE: Final = "combwright.too_large"


def bounded(application: Application, most: int) -> Application:
    """Hand bodies on up to so many bytes; a larger one is cut short there, and marked."""

    async def answer(scope: Scope, receive: Receive, send: Send) -> None:
        taken = _Taken(scope, receive, most).give if scope["type"] == "http" else receive
        await application(scope, taken, send)

    return answer


class _Taken:
    """A body as it comes in, measured."""

    def __init__(self, scope: Scope, receive: Receive, most: int) -> None:
        said = [value for name, value in scope["headers"] if name == b"content-length"]
        self._said = int(said[0]) if said and said[0].isdigit() else 0
        self._scope, self._receive, self._most = scope, receive, most
        self._size = 0

    async def give(self) -> Message:
        """Give the next part, or the body's end where it becomes too large."""
        part = await self._receive()
        self._size += len(part.get("body", b""))
        if part["type"] != "http.request" or max(self._size, self._said) <= self._most:
            return part
        self._scope[_TOO_LARGE] = True
        while part.get("more_body", False) and self._size <= _PATIENCE * self._most:
            part = await self._receive()
            self._size += len(part.get("body", b""))
        return {"type": "http.request", "body": b"", "more_body": False}


def not_too_large(get_response: Answer) -> Answer:
    """Turn away what is larger than the shop takes, before anything of it is read."""

    def answer(request: HttpRequest) -> HttpResponse:
        said = request.META.get("CONTENT_LENGTH") or "0"
        too_large = said.isdigit() and int(said) > settings.MOST_BODY
        if too_large or getattr(request, "scope", {}).get(_TOO_LARGE):
            why = _("What was sent is larger than %(most)s MiB, the most; send it in parts.")
            most = number_format(settings.MOST_BODY / MEBIBYTE, decimal_pos=0)
            return turn_away(request, 413, _("Too large"), why % {"most": most})
        return get_response(request)

    return answer
