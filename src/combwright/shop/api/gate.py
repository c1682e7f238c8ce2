"""The gate of the API: which token asks, on whose behalf, and whether it may."""

from typing import Final

from django.http import HttpRequest
from django.utils import formats, timezone
from django.utils.translation import gettext as _
from ninja.security import HttpBearer

from combwright.shop.api import actions, problems
from combwright.shop.api.models import Token, scope_of
from combwright.shop.api.problems import Problem
from combwright.shop.api.queries import token_of
from combwright.shop.people.door import address_of
from combwright.shop.people.refusals import Wait
from combwright.shop.people.roles import May, allowed

#: Longer than a token is, and short enough to be digested at no cost.
_LONGEST: Final = 200
_ASK_FOR_ONE: Final = {"WWW-Authenticate": 'Bearer realm="Combwright"'}
_ANOTHER: Final = {"WWW-Authenticate": 'Bearer realm="Combwright", error="invalid_token"'}


class Called(HttpRequest):
    """A request from a program that passed the gate."""

    auth: Token


class TokenGate(HttpBearer):
    """Let a program pass that has a token with a scope; without one, any open token passes."""

    openapi_description = "A token made on the shop's page of tokens. It begins with cw_."

    def __init__(self, needed: May | None) -> None:
        super().__init__()
        self.needed = needed

    def __call__(self, request: HttpRequest) -> Token:
        """Return the token that a request comes with.

        Raises
        ------
        Problem
            If there is none that opens, or it may not do this.
        """
        scheme, _blank, text = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != "bearer" or not text.strip():
            detail = _("A token is wanted: a header Authorization: Bearer cw_... is missing.")
            raise Problem(problems.NO_TOKEN, detail, headers=_ASK_FOR_ONE)
        return self.authenticate(request, text.strip())

    def authenticate(self, request: HttpRequest, token: str) -> Token:
        """Return the row of a token that opens and may do what is needed."""
        found = opened(request, token)
        if self.needed is not None:
            _check_may(found, self.needed)
        return found


def opened(request: HttpRequest, text: str) -> Token:
    """Return the row of an open token, and note its use; a wrong one is counted.

    Raises
    ------
    Problem
        If it opens nothing.
    """
    found = token_of(text) if len(text) <= _LONGEST else None
    if found is None or not found.is_open:
        try:
            actions.note_wrong(address_of(request))
        except Wait as wait:
            headers = {"Retry-After": str(wait.seconds)}
            raise Problem(problems.SLOW_DOWN, str(wait), headers=headers) from wait
        raise Problem(problems.NO_TOKEN, _why_not(found), headers=_ANOTHER)
    actions.note_use(found)
    return found


def _why_not(token: Token | None) -> str:
    if token is None:
        return _("This token opens nothing; is it whole? It begins with cw_ and has 46 characters.")
    if token.revoked_at is not None:
        return _("This token was revoked; make another one.")
    if token.is_over:
        day = formats.date_format(timezone.localtime(token.expires_at), "DATE_FORMAT")
        return _("This token's time ended on %(day)s; make another one.") % {"day": day}
    return _("This token's person is barred from the shop; ask the owner.")


def _check_may(token: Token, needed: May) -> None:
    facts = {"scope": scope_of(needed), "what": needed.words}
    if facts["scope"] not in token.scopes:
        text = _("This token may not %(what)s: it was made without the scope %(scope)s.")
        raise Problem(problems.NOT_ALLOWED, text % facts)
    if not allowed(token.person.role, needed):
        facts["role"] = token.person.get_role_display()
        text = _("This token's person has the role %(role)s, which may not %(what)s.")
        raise Problem(problems.NOT_ALLOWED, text % facts)
