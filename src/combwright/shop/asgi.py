"""The shop as an ASGI application: pages over HTTP, and one live line for sound."""

import os

from django.conf import settings
from django.core.asgi import get_asgi_application

from combwright.shop.look.bodies import Receive, Scope, Send, bounded

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "combwright.shop.settings")

_pages = bounded(get_asgi_application(), settings.MOST_BODY)

# Models can be had only now that Django is set up.
from combwright.shop.tuning.line import live_line  # noqa: E402


async def application(scope: Scope, receive: Receive, send: Send) -> None:
    """Answer a request, or keep a live line."""
    await (live_line if scope["type"] == "websocket" else _pages)(scope, receive, send)
