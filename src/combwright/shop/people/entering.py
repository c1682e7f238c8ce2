"""Getting in and out: passwords, one-time links, and tries that failed.

Each try is written down before it is checked, so that many at once are all counted.
"""

import logging

from django.contrib.auth import login, logout, update_session_auth_hash
from django.db import transaction
from django.db.models import Count, F, Max, Q
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.people import journal, patience
from combwright.shop.people.actions import void_links
from combwright.shop.people.door import ShopRequest, address_of
from combwright.shop.people.models import Knock, Link, Person
from combwright.shop.people.queries import open_link
from combwright.shop.people.refusals import LinkRefused, Refused, Wait


def change_password(request: ShopRequest, old: str, new: str) -> None:
    """Change one's own password; other devices have to log in anew, this one stays.

    Raises
    ------
    Refused
        If the old one is wrong; `Wait` if it was wrong too often.
    """
    person = _proved(request.user.name, address_of(request), old)
    with transaction.atomic():
        person.set_password(new)
        person.save(update_fields=["password"])
        void_links(person)
    update_session_auth_hash(request, person)
    journal.write("password_changed", {"person": person.name})


def leave_all_devices(request: ShopRequest) -> None:
    """End one's sessions everywhere, here too."""
    name = request.user.name
    Person.objects.filter(pk=request.user.pk).update(devices_left=F("devices_left") + 1)
    logout(request)
    journal.write("devices_left", {"person": name})


def log_in(request: HttpRequest, name: str, password: str) -> Person:
    """Let somebody in who knows their password.

    Raises
    ------
    Refused
        If name and password do not belong together, or the person is barred; `Wait` if this name
        or this address failed too often.
    """
    address = address_of(request)
    person = _proved(name, address, password)
    login(request, person)
    journal.write("login", {"person": person.name, "address": address})
    return person


def enter(request: HttpRequest, person: Person) -> None:
    """Let somebody in who has just been made known, as the first owner."""
    login(request, person)
    journal.write("login", {"person": person.name, "address": address_of(request)})


def log_out(request: ShopRequest) -> None:
    """End the session on this device."""
    name = request.user.name
    logout(request)
    journal.write("logout", {"person": name})


def enter_by_link(request: HttpRequest, token: str, *, new_password: str = "") -> Person:
    """Let somebody in by a one-time link, and set the password they chose where it asks for one.

    Raises
    ------
    LinkRefused
        If the link opens nothing (any more), or asks for a password and there is none.
    """
    with transaction.atomic():
        link = open_link(token)
        if link.chooses_password and not new_password:
            raise LinkRefused(_("Choose a password first."))
        # Of two who press the button at once, the database lets one change the row.
        if not Link.objects.filter(pk=link.pk, used_at=None).update(used_at=timezone.now()):
            raise LinkRefused(_("This link was used before; it opens once."))
        if link.chooses_password:
            link.person.set_password(new_password)
            link.person.save(update_fields=["password"])
            void_links(link.person)
    login(request, link.person)
    facts = {"person": link.person.name, "address": address_of(request)}
    journal.write("login_by_link", facts)
    return link.person


def _proved(name: str, address: str, password: str) -> Person:
    """Return who has this name and password, and may log in."""
    _knock(name, address)
    person = Person.objects.named(name)
    if person is None:
        # Takes as long as a real check: how long the answer takes must not tell who exists.
        Person().set_password(password)
    if person is None or not person.check_password(password):
        facts = {"person": person.name if person else "(nobody)", "address": address}
        journal.write("login_failed", facts, level=logging.WARNING)
        raise Refused(_("That name and that password do not belong together; try again."))
    Knock.objects.filter(sealed_name=Knock.seal(name)).delete()
    if not person.is_active:
        facts = {"person": person.name, "address": address}
        journal.write("login_barred", facts, level=logging.WARNING)
        raise Refused(_("You are barred from this shop; ask the owner."))
    return person


@transaction.atomic
def _knock(name: str, address: str) -> None:
    """Write a try down before it is checked, or refuse it: so tries at once are all counted."""
    # A row that every try locks, so that they are counted one after another. (SQLite has no row
    # locks; there the whole transaction is one after another.)
    Person.objects.select_for_update(no_key=True).order_by("pk").first()
    now, sealed = timezone.now(), Knock.seal(name)
    recent = (now - patience.WINDOW, now + patience.WINDOW)
    seconds = max(
        _seconds_left(Q(at__range=recent, sealed_name=sealed), patience.FREE_FOR_A_NAME),
        _seconds_left(Q(at__range=recent, address=address), patience.FREE_FOR_AN_ADDRESS),
    )
    if seconds:
        facts: dict[str, str | int] = {"address": address, "seconds": seconds}
        journal.write("login_slowed", facts, level=logging.WARNING)
        raise Wait(seconds)
    Knock.objects.exclude(at__range=recent).delete()
    Knock.objects.create(sealed_name=sealed, address=address, at=now)


def _seconds_left(which: Q, free: int) -> int:
    found = Knock.objects.filter(which).aggregate(failed=Count("pk"), last=Max("at"))
    if not found["failed"]:
        return 0
    since = (timezone.now() - found["last"]).total_seconds()
    return patience.seconds_to_wait(found["failed"], free, since)
