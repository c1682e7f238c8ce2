"""The door: nobody gets past it without logging in, and on the first run the owner is made."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, Final, ParamSpec, cast

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import resolve
from django.utils.translation import gettext as _

from combwright.shop.people.models import Person
from combwright.shop.people.roles import May, allowed

P = ParamSpec("P")
Answer = Callable[[HttpRequest], HttpResponse]
_OPEN: Final = {"people:login", "people:first", "people:link"}


class ShopRequest(HttpRequest):
    """A request from somebody who has logged in."""

    user: Person


def people_only(get_response: Answer) -> Answer:
    """Send whoever has not logged in to the door; on the first run, to the owner's page."""

    def answer(request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated or _is_open(request):
            return get_response(request)
        if not Person.objects.exists():
            return redirect("people:first")
        back = "" if request.path == "/" else f"?next={request.get_full_path()}"
        return redirect(resolve_login() + back)

    return answer


def _is_open(request: HttpRequest) -> bool:
    try:
        return resolve(request.path_info).view_name in _OPEN
    except Exception:
        return False


def resolve_login() -> str:
    """Return the address of the page to log in on."""
    from django.urls import reverse

    return reverse("people:login")


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
        def guarded(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            person = cast("ShopRequest", request).user
            if not allowed(person.role, what):
                raise PermissionDenied(
                    _("Your role, %(role)s, may not %(what)s; ask the owner.")
                    % {"role": person.get_role_display(), "what": what.value}
                )
            return view(cast("ShopRequest", request), *args, **kwargs)

        guarded.needs = what  # type: ignore[attr-defined]
        return guarded

    return guard
