"""The page about the practice shop: what it is, how old it is, open it, make it anew."""

import os
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from combwright.shop.people import journal
from combwright.shop.people.door import ShopRequest, needs
from combwright.shop.people.roles import May
from combwright.shop.practice import child, places


@never_cache
@require_safe
@needs(May.LOOK)
def home(request: ShopRequest) -> HttpResponse:
    """Say what the practice shop is and how it stands."""
    return render(request, "practice/home.html", _shown(request))


@never_cache
@require_safe
@needs(May.LOOK)
def state(request: ShopRequest) -> HttpResponse:
    """Show how it stands, for a page that asks again and again until it is open."""
    shown = _shown(request)
    answer = render(request, "practice/_state.html", shown)
    if shown["state"].phase != places.MAKING:
        answer.headers["HX-Refresh"] = "true"
    return answer


@require_POST
@needs(May.LOOK)
def start(request: ShopRequest) -> HttpResponse:
    """Open it; the page shows when one can go in."""
    return _started(request, fresh=False)


@require_POST
@needs(May.PRACTISE)
def anew(request: ShopRequest) -> HttpResponse:
    """Make the copy anew, then open it."""
    return _started(request, fresh=True)


def _started(request: ShopRequest, *, fresh: bool) -> HttpResponse:
    if settings.PRACTICE or not _reachable():
        raise Http404
    try:
        child.start(fresh=fresh)
    except places.PracticeRefused as error:
        messages.error(request, str(error))
    else:
        facts: dict[str, str | int] = {"by": request.user.name, "fresh": fresh}
        journal.write("practice_opened", facts, room="practice")
    return redirect("practice:home")


def _shown(request: ShopRequest) -> dict[str, Any]:
    now = child.state()
    return {
        "state": now,
        "made_at": places.made_at(),
        "reachable": _reachable(),
        "address": _address(request, now.port) if now.phase == places.OPEN else "",
    }


def _reachable() -> bool:
    # A server that ends HTTPS before the shop has to be told of the practice shop's port.
    return bool(not settings.HTTPS or os.environ.get("COMBWRIGHT_PRACTICE_ADDRESS"))


def _address(request: ShopRequest, port: int) -> str:
    named = os.environ.get("COMBWRIGHT_PRACTICE_ADDRESS")
    if named:
        return named
    host = request.get_host()
    without_port = host.rsplit(":", 1)[0] if not host.endswith("]") and ":" in host else host
    return f"{'http' if settings.AUTHORITY is None else 'https'}://{without_port}:{port}/"
