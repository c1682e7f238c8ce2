"""The edge of the API: whatever happens behind it, programs get JSON, and nobody keeps a copy."""

import json
from collections.abc import Callable
from typing import Any, Final

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.translation import gettext as _

from combwright.shop.api import problems
from combwright.shop.api.problems import Problem, as_response

PREFIX: Final = "/api/v1/"
#: What an answer that was made elsewhere may say to programs too.
_PASSED_ON: Final = ("Allow", "Retry-After", "WWW-Authenticate")


def json_only(
    get_response: Callable[[HttpRequest], HttpResponseBase],
) -> Callable[[HttpRequest], HttpResponseBase]:
    """Turn what is no JSON of ours under the API's address into a problem document.

    It stands before everything else, so that it also catches what the others answer: another
    host's name, a request over plain HTTP, one too many, an address that is not there, a bug.
    """

    def answer(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        if not (request.path_info + "/").startswith(PREFIX):
            return response
        detail = _made_elsewhere(response)
        if detail is not None:
            response = _told(request, response, detail)
        response.headers["Cache-Control"] = "no-store"
        return response

    return answer


def _made_elsewhere(response: HttpResponseBase) -> str | None:
    """Return what another part of the shop says of its refusal; None for what was made here."""
    kind = response.headers.get("Content-Type", "").partition(";")[0]
    if kind == "application/json":
        return None
    if kind != problems.MEDIA_TYPE or not isinstance(response, HttpResponse):
        return ""
    told: dict[str, Any] = json.loads(response.content)
    return str(told.get("detail", "")) if told.get("type") == "about:blank" else None


def _told(request: HttpRequest, response: HttpResponseBase, detail: str) -> HttpResponse:
    told = as_response(request, _problem(request, response.status_code, detail))
    for name in _PASSED_ON:
        if name in response.headers:
            told.headers[name] = ", ".join(sorted(response.headers[name].split(", ")))
    return told


def _problem(request: HttpRequest, status: int, detail: str) -> Problem:
    if status in (301, 302, 307, 308):
        text = _("This shop is asked over https only; what was sent over http is no secret now.")
        return Problem(problems.HTTPS_ONLY, text)
    kind = problems.OF_STATUS.get(status, problems.OUR_FAULT)
    facts = {"path": request.path, "method": request.method}
    texts = {
        400: _("The request cannot be read; is the host's name one that the shop goes by?"),
        404: _("There is nothing at %(path)s; the page of the API lists every address."),
        405: _("%(method)s cannot be asked of %(path)s; the header Allow says what can."),
    }
    return Problem(kind, detail or texts.get(status, str(kind.title)) % facts)
