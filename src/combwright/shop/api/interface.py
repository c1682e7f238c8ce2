"""The API as a whole: its operations, and how everything that goes wrong becomes a problem."""

from collections.abc import Sequence
from typing import Any, Final

from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent
from django.db import IntegrityError, OperationalError
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from ninja import NinjaAPI, Router
from ninja.errors import HttpError, ValidationError, ValidationErrorContext
from ninja.operation import Operation

from combwright.shop.api import (
    bins,
    deliveries,
    instruments,
    layouts,
    ledger,
    orders,
    plans,
    problems,
    stores,
)
from combwright.shop.api.faults import faults_of, in_one_line
from combwright.shop.api.gate import Called
from combwright.shop.api.operations import reads
from combwright.shop.api.problems import Problem, as_response
from combwright.shop.api.reading import Reader
from combwright.shop.api.told import Me
from combwright.shop.people.roles import May
from combwright.shop.rack.actions import NotSo

_WAIT: Final = "5"
_ABOUT: Final = """\
What the shop's own pages do, for programs. A program asks with a token that a person made for \
it, and does things in that person's name. Every write wants an Idempotency-Key, so that a request \
that broke off can be repeated and nothing happens twice. Every error is a problem document \
(RFC 9457) whose detail is one line that says what is wrong.

Money is a text with two decimals, notes are as F#5 or Bb4, offsets are cents, lengths are \
millimetres, times are ISO 8601. Names are those of the columns of the shop's files.\
"""


class ShopAPI(NinjaAPI):
    """The API, with names of our own for its operations and faults that say what was given."""

    def get_openapi_operation_id(self, operation: Operation) -> str:
        """Return the operation's name: its function's."""
        return operation.view_func.__name__

    def validation_error_from_error_contexts(
        self, error_contexts: list[ValidationErrorContext[Any]]
    ) -> ValidationError:
        """Return the faults of a request, each with its place."""
        return ValidationError(faults_of(error_contexts))


api = ShopAPI(
    title="Combwright",
    version="1",
    description=_ABOUT,
    openapi_url=None,
    docs_url=None,
    parser=Reader(),
)
router = Router(tags=["Who asks"])


@reads(router, "/me", None, Me)
def me(request: Called) -> Me:
    """Say whose token this is, and what it may do."""
    token = request.auth
    return Me.model_validate(
        {
            "program": token.name,
            "person": token.person.full_name,
            "role": token.person.role,
            "scopes": token.scopes,
            "may": [each.name.lower() for each in May if token.may(each)],
            "expires_at": token.expires_at,
        }
    )


for part in (
    router, orders.router, plans.router, instruments.router, bins.router, ledger.router,
    deliveries.router, stores.router, layouts.router,
):  # fmt: skip
    api.add_router("", part)


@api.exception_handler(Problem)
def _problem(request: HttpRequest, problem: Problem) -> HttpResponse:
    return as_response(request, problem)


@api.exception_handler(ValidationError)
def _invalid(request: HttpRequest, error: ValidationError) -> HttpResponse:
    faults: Sequence[dict[str, str]] = error.errors
    if any("header" in each for each in faults):
        text = _("Send a header Idempotency-Key with 1 to 200 visible characters.")
        return as_response(request, Problem(problems.KEY_WANTED, text))
    return as_response(request, Problem(problems.INVALID, in_one_line(faults), errors=faults))


@api.exception_handler(HttpError)
def _http(request: HttpRequest, error: HttpError) -> HttpResponse:
    # A body that our reader turned away comes wrapped in this.
    cause = error.__cause__
    told = cause if isinstance(cause, Problem) else Problem(problems.MALFORMED, str(error))
    return as_response(request, told)


@api.exception_handler(Http404)
def _not_there(request: HttpRequest, _error: Http404) -> HttpResponse:
    text = _("There is nothing at %(path)s.") % {"path": request.path}
    return as_response(request, Problem(problems.NOT_THERE, text))


@api.exception_handler(RequestDataTooBig)
@api.exception_handler(TooManyFieldsSent)
def _too_large(request: HttpRequest, _error: Exception) -> HttpResponse:
    return as_response(request, Problem(problems.TOO_LARGE, _("The body has more than 1 MiB.")))


@api.exception_handler(NotSo)
def _refused(request: HttpRequest, error: NotSo) -> HttpResponse:
    return as_response(request, Problem(problems.REFUSED, str(error)))


@api.exception_handler(IntegrityError)
def _crossed(request: HttpRequest, _error: IntegrityError) -> HttpResponse:
    text = _("Another request changed the same thing in this moment; repeat this one.")
    return as_response(request, Problem(problems.CROSSED, text))


@api.exception_handler(OperationalError)
def _busy(request: HttpRequest, error: OperationalError) -> HttpResponse:
    waited = ("locked", "deadlock", "serialize", "timeout")
    if not any(word in str(error).lower() for word in waited):
        raise error
    text = _("Others kept the database too long; repeat this request in a few seconds.")
    return as_response(request, Problem(problems.BUSY, text, headers={"Retry-After": _WAIT}))
