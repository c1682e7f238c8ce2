"""Errors as RFC 9457 problem documents: what kinds there are, and how one is told.

Sources: [rfc9457] for the documents, [rfc9110] for the statuses.
"""

import json
import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from combwright.errors import CombwrightError

MEDIA_TYPE: Final = "application/problem+json"
_LOG: Final = logging.getLogger("combwright.api")


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of problem: the anchor of its explanation, its status, and what it means.

    Parameters
    ----------
    name : str
        The anchor on the page of problems, and so the end of its `type`.
    status : int
        The HTTP status.
    title, about : str
        What it is called, and what to do about it.
    """

    name: str
    status: int
    title: str | Promise
    about: str | Promise

    @property
    def address(self) -> str:
        """Its `type`: the place on our page that explains it."""
        return reverse("api:problems") + "#" + self.name


MALFORMED = Kind(
    "malformed", 400, _("The request cannot be read"),
    _("The body is no JSON, is not UTF-8, names a field twice, or the host's name is not one of "
      "the shop's. Nothing was done."),
)  # fmt: skip
KEY_WANTED = Kind(
    "key-wanted", 400, _("A write needs an Idempotency-Key"),
    _("Send a header Idempotency-Key of 1 to 200 visible characters, a new one for each thing that "
      "you want done, and the same one when you repeat a request. Nothing was done."),
)  # fmt: skip
NO_TOKEN = Kind(
    "no-token", 401, _("No token that opens"),
    _("Send a header Authorization: Bearer with a token that was made in the shop, is not over "
      "and not revoked, and whose person is not barred. Nothing was done."),
)  # fmt: skip
NOT_ALLOWED = Kind(
    "not-allowed", 403, _("The token may not do this"),
    _("The token was made without this scope, or its person's role may not do it. Make a token "
      "with the scope, or ask the owner for the role. Nothing was done."),
)  # fmt: skip
HTTPS_ONLY = Kind(
    "https-only", 403, _("Only over HTTPS"),
    _("A token that was sent over plain HTTP may have been read on the way: revoke it, make "
      "another, and send it to the https address only. Nothing was done."),
)  # fmt: skip
NOT_THERE = Kind(
    "not-there", 404, _("Not there"),
    _("There is nothing of that name or number, or no such address. Nothing was done."),
)  # fmt: skip
WRONG_METHOD = Kind(
    "wrong-method", 405, _("Not with this method"),
    _("The header Allow of the answer says which methods this address takes. Nothing was done."),
)  # fmt: skip
JSON_ONLY = Kind(
    "json-only", 406, _("Answers are JSON"),
    _("Leave the header Accept out, or let it take application/json. Nothing was done."),
)  # fmt: skip
REFUSED = Kind(
    "refused", 409, _("It cannot be done as the shop is"),
    _("The request is well formed, but the shop refuses it: a bin holds too few plates, a name is "
      "taken, something was done before. The detail says which. Nothing was changed. Under the "
      "same Idempotency-Key this stays the answer; when the shop has changed, ask with a new key."),
)  # fmt: skip
BAD_WISH = Kind(
    "bad-wish", 409, _("A wish cannot be built as it is written"),
    _("The list errors names every fault of every wish: a key, layout, comb or temperament that "
      "the shop does not know, or parts that do not go together; pointer leads to its place in the "
      "body. Nothing was done, and the same Idempotency-Key may be used again."),
)  # fmt: skip
CROSSED = Kind(
    "crossed", 409, _("Somebody did the same at once"),
    _("Another request changed the same thing in the same moment. Nothing was done; repeat the "
      "request with the same Idempotency-Key."),
)  # fmt: skip
TOO_LARGE = Kind(
    "too-large", 413, _("The body is too large"),
    _("A body may have 1 MiB at most. Take large lists in as files, on the shop's page for that. "
      "Nothing was done."),
)  # fmt: skip
NOT_JSON = Kind(
    "not-json", 415, _("The body is no JSON"),
    _("Send the body as JSON in UTF-8 with a header Content-Type: application/json, and not "
      "compressed. Nothing was done."),
)  # fmt: skip
INVALID = Kind(
    "invalid", 422, _("Something in the request is wrong"),
    _("The list errors names every fault: pointer leads to its place in the body, parameter names "
      "a part of the address. Nothing was done, and the same Idempotency-Key may be used again."),
)  # fmt: skip
KEY_REUSED = Kind(
    "key-reused", 422, _("The Idempotency-Key belongs to another request"),
    _("A request with this key and other contents was answered before. Take a new key for a new "
      "request. Nothing was done."),
)  # fmt: skip
SLOW_DOWN = Kind(
    "slow-down", 429, _("Too many wrong tokens"),
    _("Too many tokens that open nothing came from this address. The header Retry-After says how "
      "many seconds to wait. Good tokens are not kept waiting. Nothing was done."),
)  # fmt: skip
TOO_OFTEN = Kind(
    "too-often", 429, _("Asked too often"),
    _("The shop was asked faster than it lets anybody ask. The header Retry-After says how many "
      "seconds to wait. Nothing was done; repeat the request with the same Idempotency-Key."),
)  # fmt: skip
OUR_FAULT = Kind(
    "our-fault", 500, _("A fault of the shop"),
    _("This is a bug of ours. Nothing was done by halves. Repeat the request with the same "
      "Idempotency-Key later; the shop's log has the problem under its instance."),
)  # fmt: skip
BUSY = Kind(
    "busy", 503, _("The shop is busy"),
    _("Others kept the database too long. Nothing was done; repeat the request with the same "
      "Idempotency-Key after the seconds that Retry-After says."),
)  # fmt: skip

KINDS: Final[Sequence[Kind]] = (
    MALFORMED, KEY_WANTED, NO_TOKEN, NOT_ALLOWED, HTTPS_ONLY, NOT_THERE, WRONG_METHOD, JSON_ONLY,
    REFUSED, BAD_WISH, CROSSED, TOO_LARGE, NOT_JSON, INVALID, KEY_REUSED, SLOW_DOWN, TOO_OFTEN,
    OUR_FAULT, BUSY,
)  # fmt: skip
#: What an answer becomes that was not made here but by Django's own means.
OF_STATUS: Final[Mapping[int, Kind]] = MappingProxyType(
    {
        400: MALFORMED, 401: NO_TOKEN, 403: NOT_ALLOWED, 404: NOT_THERE, 405: WRONG_METHOD,
        413: TOO_LARGE, 429: TOO_OFTEN, 500: OUR_FAULT, 503: BUSY,
    }
)  # fmt: skip


class Problem(CombwrightError):
    """Something about a program's request that cannot be, in one clear line.

    Parameters
    ----------
    kind : Kind
        Which kind of problem.
    detail : str
        What is wrong, the value, and what would be right.
    errors : sequence of mapping
        Every single fault, with its place.
    headers : mapping
        To be sent with the answer.
    """

    def __init__(
        self,
        kind: Kind,
        detail: str,
        *,
        errors: Sequence[Mapping[str, str]] = (),
        headers: Mapping[str, str] = MappingProxyType({}),
    ) -> None:
        super().__init__(detail)
        self.kind, self.detail, self.errors, self.headers = kind, detail, errors, headers


def document(problem: Problem) -> dict[str, Any]:
    """Return the problem document; its `instance` is new, and is the problem's name in the log."""
    told: dict[str, Any] = {
        "type": problem.kind.address,
        "title": str(problem.kind.title),
        "status": problem.kind.status,
        "detail": problem.detail,
        "instance": uuid4().urn,
    }
    if problem.errors:
        told["errors"] = [dict(each) for each in problem.errors]
    return told


def as_response(request: HttpRequest, problem: Problem) -> HttpResponse:
    """Return the answer that tells a problem, and note it in the log."""
    told = document(problem)
    note(request, problem.kind, told["instance"])
    return written(json.dumps(told), problem.kind.status, problem.headers)


def note(request: HttpRequest, kind: Kind, instance: str) -> None:
    """Write a problem into the log."""
    level = logging.ERROR if kind.status >= 500 else logging.INFO
    # The path, never the query or a header: a token belongs in no log, nor does what was typed.
    facts = (kind.name, instance, request.method, json.dumps(request.path))
    _LOG.log(level, "event=problem kind=%s instance=%s method=%s path=%s", *facts)


def written(
    body: str, status: int, headers: Mapping[str, str] = MappingProxyType({})
) -> HttpResponse:
    """Return JSON as an answer, as a problem's where the status says that it is one."""
    media_type = MEDIA_TYPE if status >= 400 else "application/json"
    kept_by_nobody = {"Cache-Control": "no-store"} | dict(headers)
    return HttpResponse(body, status=status, content_type=media_type, headers=kept_by_nobody)
