"""How an operation is declared: what it needs, what it answers, and that a write is done once."""

from collections.abc import Callable
from functools import partial, wraps
from http import HTTPStatus
from inspect import signature
from typing import Any, Final, TypeVar, cast

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from ninja import Router
from ninja.operation import Operation
from ninja.params.models import Header
from ninja.utils import contribute_operation_args
from pydantic import BaseModel

from combwright.shop.api import problems
from combwright.shop.api.gate import Called, TokenGate
from combwright.shop.api.models import scope_of
from combwright.shop.api.once import done_once
from combwright.shop.api.problems import Problem, written
from combwright.shop.api.words import IdempotencyKey
from combwright.shop.people.roles import May

KEY_HEADER: Final = "Idempotency-Key"
#: Where an operation's scopes stand in what the library writes, until the document is finished.
SCOPES: Final = "x-scopes"
_ABOUT_KEY: Final = "New for each thing to do; the same when the request is repeated."
View = TypeVar("View", bound=Callable[..., BaseModel])


def reads(
    router: Router, path: str, needed: May | None, told: type[BaseModel]
) -> Callable[[View], View]:
    """Declare a read: a GET that a token with a scope may ask."""

    def declare(view: View) -> View:
        @wraps(view)
        def checked(request: Called, **given: Any) -> HttpResponse:
            check_asked(request, checked)
            # Written as writes are: one and the same moment must not be told in two ways.
            return written(view(**_wanted(view, request), **given).model_dump_json(), HTTPStatus.OK)

        gate, extra = TokenGate(needed), _extra(needed)
        router.get(path, auth=gate, response=told, openapi_extra=extra)(checked)
        return view

    return declare


def writes(
    router: Router,
    path: str,
    needed: May,
    told: type[BaseModel],
    *,
    status: int = HTTPStatus.CREATED,
) -> Callable[[View], View]:
    """Declare a write: a POST that is done once for each Idempotency-Key."""

    def declare(view: View) -> View:
        @wraps(view)
        def checked(request: Called, *, idempotency_key: str, **given: Any) -> HttpResponse:
            check_asked(request, checked)
            act = partial(view, **_wanted(view, request), **given)
            return done_once(request, idempotency_key, act, status)

        header: Any = Header(..., alias=KEY_HEADER, description=_ABOUT_KEY)
        contribute_operation_args(checked, "idempotency_key", cast("type", IdempotencyKey), header)
        router.post(
            path,
            auth=TokenGate(needed),
            response={int(status): told},
            openapi_extra=_extra(needed),
        )(checked)
        return view

    return declare


def _wanted(view: Callable[..., object], request: Called) -> dict[str, Called]:
    """Give the request to an operation that has a use for it."""
    return {"request": request} if "request" in signature(view).parameters else {}


def _extra(needed: May | None) -> dict[str, list[str]]:
    return {SCOPES: [] if needed is None else [scope_of(needed)]}


def check_asked(request: HttpRequest, view: Callable[..., object]) -> None:
    """Refuse an answer that cannot be given as it is wanted, and questions that nobody answers.

    A mistyped question must not pass for one that was left out: it would list everything.
    """
    if not (request.accepts("application/json") or request.accepts(problems.MEDIA_TYPE)):
        detail = _("Answers are application/json; the header Accept takes none.")
        raise Problem(problems.JSON_ONLY, detail)
    known = _questions(view._ninja_operation)  # type: ignore[attr-defined]
    faults = [
        {"parameter": name, "detail": _("is no question that is answered here")}
        for name in request.GET
        if name not in known
    ]
    faults += [
        {"parameter": name, "detail": _("is asked more than once")}
        for name, values in request.GET.lists()
        if name in known and len(values) > 1
    ]
    if faults:
        first = faults[0]["parameter"] + " " + faults[0]["detail"]
        text = _("%(fault)s; known are: %(known)s.")
        known_text = ", ".join(sorted(known)) or _("none")
        detail = text % {"fault": first, "known": known_text}
        raise Problem(problems.INVALID, detail, errors=faults)


def _questions(operation: Operation) -> frozenset[str]:
    return frozenset(
        name
        for model in operation.models
        if model.__ninja_param_source__ == "query"
        for name in getattr(model, "__ninja_flatten_map__", {})
    )
