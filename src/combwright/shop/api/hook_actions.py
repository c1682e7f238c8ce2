"""Everything that changes which programs hear of orders."""

import secrets
from collections.abc import Collection
from typing import Final

from django.conf import settings
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.api import outbox
from combwright.shop.api.delivering import make_call
from combwright.shop.api.guarding import BadAddress, looked_up, read_address
from combwright.shop.api.hook_models import EVENTS, Call, Hook
from combwright.shop.people import journal
from combwright.shop.people.models import Person
from combwright.shop.people.refusals import Refused
from combwright.shop.people.roles import Role

_SECRET_BYTES: Final = 32


def make_hook(by: Person, address: str, events: Collection[str], *, inside: bool = False) -> Hook:
    """Have a program called from now on, when an order comes into a state.

    Parameters
    ----------
    by : Person
        Who says so.
    address : str
        Of http or https.
    events : collection of str
        Which of `EVENTS` it hears of.
    inside : bool
        Whether it may lie inside the shop's own network; only an owner may say so.

    Raises
    ------
    Refused
        In the practice shop, or if it lies inside and nobody who may has allowed it.
    """
    if settings.PRACTICE:
        raise Refused(_("Programs are told in the real shop only, not in practice."))
    if inside and by.role != Role.OWNER:
        raise Refused(_("Only an owner may let a program inside our network be called."))
    try:
        looked_up(read_address(address), inside=inside)
    except BadAddress as error:
        raise Refused(str(error)) from error
    made = Hook.objects.create(
        address=address, events=[each for each in EVENTS if each in set(events)], inside=inside,
        secret=secrets.token_urlsafe(_SECRET_BYTES), made_by=by,
    )  # fmt: skip
    _tell("hook_made", made, by)
    return made


@transaction.atomic
def change_secret(by: Person, hook: Hook) -> Hook:
    """Give a hook another secret; every call from now on is signed with it."""
    there = Hook.objects.select_for_update().get(pk=hook.pk)
    there.secret = secrets.token_urlsafe(_SECRET_BYTES)
    there.save(update_fields=["secret"])
    _tell("hook_secret_changed", there, by)
    return there


@transaction.atomic
def switch_off(by: Person, hook: Hook) -> None:
    """Call a program no more; what still waited for it is given up."""
    now = timezone.now()
    if Hook.objects.filter(pk=hook.pk, off_at=None).update(off_at=now):
        waiting = Call.objects.filter(hook=hook, state=Call.WAITING)
        waiting.update(state=Call.GIVEN_UP, ended_at=now, error=_("The program was switched off."))
        _tell("hook_off", hook, by)


def test(by: Person, hook: Hook) -> Call:
    """Call a program once, now, to see whether it hears; not inside of a transaction.

    Raises
    ------
    Refused
        In the practice shop, or if it was switched off.
    """
    if settings.PRACTICE:
        raise Refused(_("Programs are told in the real shop only, not in practice."))
    if hook.off_at is not None:
        raise Refused(_("This program was switched off; it is called no more."))
    made = outbox.note_test(hook)
    _tell("hook_tested", hook, by)
    make_call(made)
    made.refresh_from_db()
    return made


def _tell(event: str, hook: Hook, by: Person) -> None:
    facts: dict[str, str | int] = {"hook": hook.pk, "host": hook.host, "by": by.name}
    journal.write(event, facts, room="api")
