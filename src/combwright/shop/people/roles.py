"""Roles, and the table of what each may do: the one place that says so."""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from django.http import HttpRequest
from django.utils.translation import gettext, gettext_noop


class Role(StrEnum):
    """What somebody does in the shop."""

    OWNER = "owner"
    OFFICE = "office"
    MAKER = "maker"
    PACKER = "packer"


class May(StrEnum):
    """What somebody may be allowed to do."""

    LOOK = gettext_noop("look at the rack")
    RECEIVE = gettext_noop("receive plates and sets")
    COUNT = gettext_noop("count bins")
    TAKE = gettext_noop("scrap, move and put back plates")
    CORRECT = gettext_noop("correct the ledger")
    HOLD = gettext_noop("hold and release batches")
    ARRANGE = gettext_noop("make and change bins")
    IMPORT = gettext_noop("import files")
    BOOK = gettext_noop("book the differences of a counting round")
    INSPECT = gettext_noop("measure samples and decide on deliveries")
    DESIGN = gettext_noop("change combs, layouts and workshop numbers")
    WATCH = gettext_noop("watch and stop all jobs")
    BACKUP = gettext_noop("make and check backups")
    PRACTISE = gettext_noop("make the practice shop anew")
    CONNECT = gettext_noop("let other programs in by tokens")
    ORDER = gettext_noop("make and change orders and customers")
    WISH = gettext_noop("design wishes")
    PLAN = gettext_noop("plan, and set plates aside")
    PICK = gettext_noop("pick plates for orders")
    BUILD = gettext_noop("build instruments")
    TUNE = gettext_noop("measure and tune reeds")
    SEND = gettext_noop("send orders")
    PEOPLE = gettext_noop("let people in and change their roles")

    @property
    def words(self) -> str:
        """What it is, in the reader's language."""
        return gettext(self.value)


_EVERYONE: Final = frozenset(Role)
_OWNER: Final = frozenset({Role.OWNER})
TABLE: Final[Mapping[May, frozenset[Role]]] = MappingProxyType(
    {
        May.LOOK: _EVERYONE,
        May.RECEIVE: _EVERYONE,
        May.COUNT: _EVERYONE,
        May.TAKE: frozenset({Role.OWNER, Role.MAKER, Role.PACKER}),
        May.CORRECT: frozenset({Role.OWNER, Role.OFFICE}),
        May.HOLD: frozenset({Role.OWNER, Role.MAKER}),
        May.ARRANGE: frozenset({Role.OWNER, Role.OFFICE, Role.PACKER}),
        May.IMPORT: frozenset({Role.OWNER, Role.OFFICE}),
        May.BOOK: frozenset({Role.OWNER, Role.OFFICE}),
        May.INSPECT: frozenset({Role.OWNER, Role.MAKER}),
        May.DESIGN: frozenset({Role.OWNER, Role.MAKER}),
        May.WATCH: frozenset({Role.OWNER, Role.OFFICE}),
        May.BACKUP: _OWNER,
        May.PRACTISE: frozenset({Role.OWNER, Role.OFFICE}),
        May.CONNECT: frozenset({Role.OWNER, Role.OFFICE}),
        May.ORDER: frozenset({Role.OWNER, Role.OFFICE}),
        May.WISH: frozenset({Role.OWNER, Role.OFFICE, Role.MAKER}),
        May.PLAN: frozenset({Role.OWNER, Role.OFFICE, Role.MAKER}),
        May.PICK: frozenset({Role.OWNER, Role.MAKER, Role.PACKER}),
        May.BUILD: frozenset({Role.OWNER, Role.MAKER}),
        May.TUNE: frozenset({Role.OWNER, Role.MAKER}),
        May.SEND: frozenset({Role.OWNER, Role.OFFICE, Role.PACKER}),
        May.PEOPLE: _OWNER,
    }
)


def allowed(role: str, what: May) -> bool:
    """Say whether a role may do something."""
    return role in TABLE[what]


def what_one_may(request: HttpRequest) -> dict[str, object]:
    """Give templates `may`, a mapping from a right's short name to whether this person has it."""
    role = getattr(request.user, "role", "") if hasattr(request, "user") else ""
    return {"may": {what.name.lower(): allowed(role, what) for what in May}}
