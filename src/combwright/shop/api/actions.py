"""Everything that changes tokens, and what is kept about their use."""

import logging
import secrets
from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Final

from django.conf import settings
from django.db import transaction
from django.db.models import Count, Max, Q
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.api.models import BEGINS, SHOWN, Token, WrongToken
from combwright.shop.people import journal, patience
from combwright.shop.people.models import Person
from combwright.shop.people.refusals import Refused, Wait

#: How exactly the last use of a token is known: a script may ask many times a second.
_KNOWN_TO: Final = timedelta(minutes=1)


def make_token(
    by: Person, name: str, scopes: Collection[str], expires_at: datetime
) -> tuple[Token, str]:
    """Let a program in; return its token's row, and the token itself, which is kept nowhere.

    Parameters
    ----------
    by : Person
        On whose behalf it acts, with what they may do at the time.
    name : str
        What the program is called.
    scopes : collection of str
        What it may do, in the lower case names of rights.
    expires_at : datetime
        When it opens nothing any more.

    Raises
    ------
    Refused
        In the practice shop: a token of the copy would be taken for one of the real shop.
    """
    if getattr(settings, "PRACTICE", False):
        raise Refused(_("Tokens are made in the real shop only, not in practice."))
    text = BEGINS + secrets.token_urlsafe(32)
    token = Token.objects.create(
        name=name,
        person=by,
        digest=Token.digest_of(text),
        prefix=text[:SHOWN],
        scopes=sorted(scopes),
        expires_at=expires_at,
    )
    facts: dict[str, str | int] = {
        "person": by.name,
        "token": token.pk,
        "scopes": " ".join(token.scopes),
    }
    journal.write("token_made", facts, room="api")
    return token, text


@transaction.atomic
def revoke(by: Person, token: Token) -> None:
    """Make a token open nothing any more; one that was revoked before stays as it is."""
    if Token.objects.filter(pk=token.pk, revoked_at=None).update(revoked_at=timezone.now()):
        journal.write("token_revoked", {"token": token.pk, "by": by.name}, room="api")


def note_use(token: Token) -> None:
    """Write down that a token was used, once a minute at most."""
    now = timezone.now()
    long_ago = Q(last_used_at=None) | Q(last_used_at__lt=now - _KNOWN_TO)
    if token.last_used_at is None or token.last_used_at < now - _KNOWN_TO:
        Token.objects.filter(long_ago, pk=token.pk).update(last_used_at=now)


def note_wrong(address: str) -> None:
    """Count a token that opened nothing against an address.

    Raises
    ------
    Wait
        If too many came from there; they are not counted then, so that the wait does end.
    """
    now = timezone.now()
    recent = Q(at__range=(now - patience.WINDOW, now + patience.WINDOW))
    known = WrongToken.objects.filter(recent, address=address)
    found = known.aggregate(failed=Count("pk"), last=Max("at"))
    if found["failed"]:
        since = (now - found["last"]).total_seconds()
        seconds = patience.seconds_to_wait(found["failed"], patience.FREE_FOR_AN_ADDRESS, since)
        if seconds:
            raise Wait(seconds)
    WrongToken.objects.exclude(recent).delete()
    WrongToken.objects.create(address=address, at=now)
    journal.write("token_refused", {"address": address}, level=logging.WARNING, room="api")
