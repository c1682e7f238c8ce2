"""The live line: a WebSocket over which a page sends sound and gets readings.

No form's token guards a socket, so the page's origin is compared with the shop's own address, and
whoever opens it must be logged in and may measure. Nothing is kept here: what is to be kept comes
as a form. Source: docs/sources.md, [rfc6455] section 10.2.
"""

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Mapping
from http.cookies import CookieError, SimpleCookie
from importlib import import_module
from typing import Any, Final
from urllib.parse import urlsplit

from asgiref.sync import sync_to_async
from django.conf import settings
from django.contrib.auth import get_user
from django.db import connections
from django.http import HttpRequest
from django.http.request import split_domain_port, validate_host

from combwright.ear.live import Band
from combwright.shop.look.bodies import Receive, Scope, Send
from combwright.shop.people.roles import May, allowed
from combwright.shop.tuning.clocks import Clock, clock_of
from combwright.shop.tuning.models import Microphone
from combwright.shop.tuning.talk import BadTalk, Talk, asked

PATH: Final = "/tuning/line/"
#: Those who may listen: for tuning, and for measuring samples.
_RIGHTS: Final = (May.TUNE, May.INSPECT)
#: So often it is asked whether whoever listens is still let in.
_AGAIN_S: Final = 60.0
#: Codes of RFC 6455: a message that is none of ours; somebody who is no longer let in.
_BAD, _SHUT = 1003, 1008


async def live_line(scope: Scope, receive: Receive, send: Send) -> None:
    """Serve one WebSocket, from its opening to its end."""
    await receive()
    headers = dict(scope["headers"])
    if scope["path"] != PATH or not _from_us(headers) or not await _let_in(headers):
        await send({"type": "websocket.close", "code": _SHUT})  # before accepting: HTTP 403
        return
    await send({"type": "websocket.accept"})
    try:
        await _listen(_messages(receive), send, headers)
    except BadTalk as error:
        with contextlib.suppress(OSError, RuntimeError):
            await send({"type": "websocket.close", "code": _BAD, "reason": str(error)[:120]})


def _from_us(headers: Mapping[bytes, bytes]) -> bool:
    """Say whether a page of this shop opens the line, under a name that is the shop's."""
    host = headers.get(b"host", b"").decode("latin-1")
    origin = urlsplit(headers.get(b"origin", b"").decode("latin-1"))
    name, _port = split_domain_port(host)
    return origin.netloc == host and validate_host(name, settings.ALLOWED_HOSTS)


async def _let_in(headers: Mapping[bytes, bytes]) -> bool:
    return await sync_to_async(_may_listen, thread_sensitive=False)(headers)


def _may_listen(headers: Mapping[bytes, bytes]) -> bool:
    """Say whether the session's person may measure."""
    try:
        cookies = SimpleCookie(headers.get(b"cookie", b"").decode("latin-1"))
    except CookieError:
        return False
    mark = cookies.get(settings.SESSION_COOKIE_NAME)
    request = HttpRequest()
    request.session = import_module(settings.SESSION_ENGINE).SessionStore(mark and mark.value)
    try:
        person = get_user(request)
        return person.is_authenticated and any(allowed(person.role, may) for may in _RIGHTS)
    finally:
        connections.close_all()  # no request ends here, which would do it


async def _messages(receive: Receive) -> AsyncIterator[str | bytes]:
    while (message := await receive())["type"] == "websocket.receive":
        text = message.get("text")
        yield message.get("bytes") or b"" if text is None else text


async def _listen(
    messages: AsyncIterator[str | bytes], send: Send, headers: Mapping[bytes, bytes]
) -> None:
    first = await anext(messages, None)
    if first is None:
        return
    if not isinstance(first, str):
        raise BadTalk("The first message says the rate; sound comes after it.")
    wanted = asked(first)
    band, clock = await sync_to_async(_known_of, thread_sensitive=False)(wanted.microphone)
    talk = Talk(wanted, band=band, clock=clock)
    loop = asyncio.get_running_loop()
    looked = loop.time()
    async for message in messages:
        if isinstance(message, str):
            talk.told(message)
            continue
        for said in await asyncio.to_thread(_heard, talk, message):
            await send({"type": "websocket.send", "text": json.dumps(said)})
        if loop.time() - looked > _AGAIN_S:
            looked = loop.time()
            if not await _let_in(headers):
                await send({"type": "websocket.close", "code": _SHUT, "reason": "no longer let in"})
                return


def _heard(talk: Talk, sound: bytes) -> list[dict[str, Any]]:
    return list(talk.hear(sound))


def _known_of(key: int | None) -> tuple[Band | None, Clock]:
    """Return a microphone's band of breath and its clock."""
    try:
        found = None if key is None else Microphone.objects.filter(pk=key).first()
    finally:
        connections.close_all()
    band: Any = None
    if found is not None and found.low_db is not None and found.high_db is not None:
        band = Band(found.low_db, found.high_db)
    return band, clock_of(found)
