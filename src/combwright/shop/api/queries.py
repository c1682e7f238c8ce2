"""Reading tokens, and the ledger as a program follows it."""

from collections.abc import Iterable
from datetime import timedelta
from typing import Final

from django.db import connection
from django.db.models import QuerySet
from django.utils import timezone

from combwright.shop.api.models import Token
from combwright.shop.people.models import Person
from combwright.shop.people.roles import Role
from combwright.shop.rack.models import Entry

#: A write that began earlier than this has ended, one way or the other.
_SETTLES_IN: Final = timedelta(minutes=1)


def tokens_seen_by(person: Person) -> QuerySet[Token]:
    """Return one's own tokens, and everybody's for an owner."""
    every = Token.objects.select_related("person")
    return every if person.role == Role.OWNER else every.filter(person=person)


def token_of(text: str) -> Token | None:
    """Find a token's row, whether it is open or not."""
    return Token.objects.select_related("person").filter(digest=Token.digest_of(text)).first()


def settled() -> int | None:
    """Return the last entry before which no other can appear any more; None for no limit.

    PostgreSQL gives numbers when a write begins and shows its rows when it ends, so that an entry
    can come to light after one with a higher number. A reader that asks for what came after the
    last number it saw would never see it. So entries after a gap are held back as long as the gap
    is young. SQLite writes one after another and leaves no gap.
    """
    if connection.vendor == "sqlite":
        return None
    young = Entry.objects.filter(made_at__gte=timezone.now() - _SETTLES_IN)
    numbers = list(young.order_by("pk").values_list("pk", flat=True))
    if not numbers:
        return None
    earlier = Entry.objects.filter(pk__lt=numbers[0]).order_by("-pk").values_list("pk", flat=True)
    return before_a_gap(earlier.first() or numbers[0] - 1, numbers)


def before_a_gap(last: int, numbers: Iterable[int]) -> int:
    """Return the last number before the first gap in rising numbers that follow on `last`."""
    for number in numbers:
        if number != last + 1:
            return last
        last = number
    return last
