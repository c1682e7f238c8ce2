"""The door: nobody gets past it without logging in, and on the first run the owner is made."""

from collections.abc import Callable
from functools import wraps
from ipaddress import ip_address, ip_network
from typing import Concatenate, Final, ParamSpec, TypeVar, cast
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url
from django.urls import Resolver404, resolve, reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from combwright.shop.people.models import Person
from combwright.shop.people.roles import May, allowed

P = ParamSpec("P")
Answer = Callable[[HttpRequest], HttpResponse]
View = TypeVar("View", bound=Callable[..., object])
_OPEN: Final = {
    "people:login",
    "people:first",
    "people:link",
    # A device has to trust the shop before anybody types a password on it.
    "people:trust",
    "people:authority",
    "orders:shared",
}
#: Whoever has one address of this network has them all.
_IPV6_PREFIX: Final = 64


class ShopRequest(HttpRequest):
    """A request from somebody who has logged in."""

    user: Person


def people_only(get_response: Answer) -> Answer:
    """Send whoever has not logged in to the door; on the first run, to the owner's page."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated or _is_open(request):
            return get_response(request)
        return _sent_to_the_door(request)

    return answer


def _is_open(request: HttpRequest) -> bool:
    # Static files that exist are answered before; those that do not are plainly not there.
    if request.path.startswith(settings.STATIC_URL):
        return True
    try:
        found = resolve(request.path_info)
    except Resolver404:
        return False
    return found.view_name in _OPEN or getattr(found.func, "own_door", False)


def own_door(view: View) -> View:
    """Let a view be asked without logging in: it has a door of its own, as one for programs."""
    view.own_door = True  # type: ignore[attr-defined]
    return view


def _sent_to_the_door(request: HttpRequest) -> HttpResponse:
    if not Person.objects.exists():
        door = reverse("people:first")
    else:
        back = _way_back(request)
        asked = "?" + urlencode({"next": back}) if back and back != "/" else ""
        door = reverse("people:login") + asked
    if _is_fragment(request):
        # A redirect would put the door's page inside the page that asked for a part of itself.
        return HttpResponse(status=204, headers={"HX-Redirect": door})
    return redirect(door)


def _is_fragment(request: HttpRequest) -> bool:
    return request.headers.get("HX-Request") == "true"


def _way_back(request: HttpRequest) -> str:
    if _is_fragment(request):
        page = urlsplit(request.headers.get("HX-Current-URL", ""))
        return page.path + ("?" + page.query if page.query else "")
    return request.get_full_path() if request.method in ("GET", "HEAD") else ""


def where_next(request: HttpRequest) -> str:
    """Return where to go from the door: the page that was wanted, if it is one of ours."""
    wanted = request.GET.get("next", "")
    ours = url_has_allowed_host_and_scheme(
        wanted, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return wanted if ours else resolve_url(settings.LOGIN_REDIRECT_URL)


def address_of(request: HttpRequest) -> str:
    """Return where a request comes from, for counting tries: of IPv6 the network."""
    given = request.META.get("REMOTE_ADDR", "")
    try:
        address = ip_address(given)
    except ValueError:
        return "unknown"
    if address.version == 4:
        return str(address)
    if address.ipv4_mapped is not None:
        return str(address.ipv4_mapped)
    # A zone, as of fe80::1%eth0, is no part of a network.
    return str(ip_network((int(address), _IPV6_PREFIX), strict=False))


def needs(
    what: May,
) -> Callable[
    [Callable[Concatenate[ShopRequest, P], HttpResponse]],
    Callable[Concatenate[HttpRequest, P], HttpResponse],
]:
    """Let a view be seen only by those who may do something."""

    def guard(
        view: Callable[Concatenate[ShopRequest, P], HttpResponse],
    ) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
        @wraps(view)
        def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not request.user.is_authenticated:
                return _sent_to_the_door(request)
            person = request.user
            if not allowed(person.role, what):
                raise PermissionDenied(
                    _("Your role, %(role)s, may not %(what)s; ask the owner.")
                    % {"role": person.get_role_display(), "what": what.words}
                )
            return view(cast("ShopRequest", request), *args, **kwargs)

        guarded.needs = what  # type: ignore[attr-defined]
        return guarded

    return guard
