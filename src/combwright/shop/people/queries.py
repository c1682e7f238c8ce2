"""What the people's pages show: who is here, what a link is good for, what each role may do."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.people.models import Link, Person
from combwright.shop.people.refusals import LinkRefused
from combwright.shop.people.roles import May, Role, allowed


@dataclass(frozen=True, slots=True)
class Right:
    """A row of the table of roles: what one may do, and for each role whether it may."""

    words: str
    roles: Sequence[tuple[str, bool]]


def rights() -> tuple[Right, ...]:
    """Return the table of what each role may do, roles in the order of `role_names`."""
    return tuple(
        Right(what.words, [(name, allowed(role, what)) for role, name in _roles()]) for what in May
    )


def role_names() -> list[str]:
    """Return the roles' names in the order of the table's columns."""
    return [name for _role, name in _roles()]


def _roles() -> list[tuple[Role, str]]:
    return [(Role(value), str(name)) for value, name in Person.ROLES]


def owners() -> "QuerySet[Person]":
    """Return the owners who can log in; one who has not chosen a password yet cannot."""
    return Person.objects.filter(role=Role.OWNER, is_active=True).exclude(password__startswith="!")


def open_link(token: str) -> Link:
    """Find the link that a token opens.

    Raises
    ------
    LinkRefused
        If there is none, or it was used, or its time is over, or its person is barred.
    """
    link = Link.objects.select_related("person").filter(digest=Link.digest_of(token)).first()
    if link is None:
        raise LinkRefused(
            _("This link opens nothing: it is not whole, or a newer one took its place.")
        )
    if link.used_at is not None:
        raise LinkRefused(_("This link was used before; it opens once."))
    if link.expires_at <= timezone.now():
        raise LinkRefused(_("This link's time is over."))
    if not link.person.is_active:
        raise LinkRefused(_("This link is for somebody who is barred."))
    return link
