"""Everything that changes people: who is here, what they may, and how they get in.

Whether the one who acts may do so is the views' to ask (`door.needs`).
"""

import logging
import secrets
from datetime import timedelta
from typing import Final

from django.contrib.auth import login, logout, update_session_auth_hash
from django.db import IntegrityError, transaction
from django.db.models import Count, F, Max, Q
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.people import journal, patience
from combwright.shop.people.door import ShopRequest, address_of
from combwright.shop.people.models import Knock, Link, Person, tidy_name
from combwright.shop.people.queries import open_link, owners
from combwright.shop.people.refusals import LinkRefused, Refused, Wait
from combwright.shop.people.roles import Role

#: How long an invitation can be taken up.
INVITED_HOURS: Final = 72
#: A spent link is remembered for a while, so that it can still say why it opens nothing.
_LINK_REMEMBERED: Final = timedelta(days=30)


def first_owner(name: str, full_name: str, password: str) -> Person:
    """Make the shop's first person, its owner; of two who try at once, one becomes it.

    Raises
    ------
    Refused
        If there is anybody already.
    """
    late = _("This shop has an owner already; ask to be let in.")
    try:
        with transaction.atomic():
            if Person.objects.exists():
                raise Refused(late)
            person = Person.objects.join(name, full_name, Role.OWNER, password, founder=True)
    except IntegrityError as error:
        # Neither of two at once sees the other; the database's rule of one founder does.
        raise Refused(late) from error
    journal.write("first_owner", {"person": person.name})
    return person


def join(by: Person, name: str, full_name: str, role: str) -> tuple[Person, str]:
    """Let somebody in; return the person, and the token of the link to choose a password on.

    Raises
    ------
    Refused
        If somebody has that name.
    """
    taken = _("There is somebody named %(name)s already; choose another name.")
    try:
        with transaction.atomic():
            person = Person.objects.join(name, full_name, role, None)
            token = make_link(person, INVITED_HOURS, chooses_password=True)
    except IntegrityError as error:
        raise Refused(taken % {"name": tidy_name(name)}) from error
    journal.write("joined", {"person": person.name, "role": role, "by": by.name})
    return person, token


@transaction.atomic
def make_link(person: Person, hours: float, *, chooses_password: bool = False) -> str:
    """Make a link that lets somebody in once, and return its token, which is kept nowhere.

    Parameters
    ----------
    person : Person
        Who it lets in.
    hours : float
        How long it can be used.
    chooses_password : bool
        Whether a new password is chosen on it. Such a link takes the place of earlier ones.
    """
    now = timezone.now()
    Link.objects.filter(expires_at__lt=now - _LINK_REMEMBERED).delete()
    if chooses_password:
        _void_links(person)
    token = secrets.token_urlsafe(32)
    Link.objects.create(
        digest=Link.digest_of(token),
        person=person,
        chooses_password=chooses_password,
        made_at=now,
        expires_at=now + timedelta(hours=hours),
    )
    return token


def invite_again(by: Person, person: Person) -> str:
    """Return the token of a new link to choose a password on, for one who lost theirs.

    Raises
    ------
    Refused
        If the person is barred.
    """
    if not person.is_active:
        raise Refused(_("%s is barred; let them in again first.") % person)
    token = make_link(person, INVITED_HOURS, chooses_password=True)
    journal.write("link_made", {"person": person.name, "by": by.name})
    return token


@transaction.atomic
def change_role(by: Person, person: Person, role: str) -> None:
    """Give somebody another role.

    Raises
    ------
    Refused
        If the last owner would be one no more.
    """
    there = _locked(person)
    if role != Role.OWNER:
        _keep_an_owner(there)
    Person.objects.filter(pk=there.pk).update(role=role)
    facts = {"person": there.name, "was": there.role, "is": role, "by": by.name}
    journal.write("role_changed", facts)


@transaction.atomic
def bar(by: Person, person: Person) -> None:
    """Keep somebody out, and end what they have open on every device.

    Raises
    ------
    Refused
        If it is the last owner.
    """
    there = _locked(person)
    _keep_an_owner(there)
    # Letting them in again must not bring old sessions back to life.
    Person.objects.filter(pk=there.pk).update(is_active=False, devices_left=F("devices_left") + 1)
    _void_links(there)
    journal.write("barred", {"person": there.name, "by": by.name})


@transaction.atomic
def unbar(by: Person, person: Person) -> None:
    """Let somebody log in again."""
    Person.objects.filter(pk=person.pk).update(is_active=True)
    journal.write("unbarred", {"person": person.name, "by": by.name})


def _locked(person: Person) -> Person:
    # The owners too, always in the same order: two owners who bar each other at once must not both
    # find that there is another one.
    wanted = Q(pk=person.pk) | Q(role=Role.OWNER)
    locked = Person.objects.select_for_update().filter(wanted).order_by("pk")
    return {each.pk: each for each in locked}[person.pk]


def _keep_an_owner(person: Person) -> None:
    is_one = owners().filter(pk=person.pk).exists()
    if is_one and not owners().exclude(pk=person.pk).exists():
        raise Refused(
            _("%s is the last owner who can log in; make somebody else an owner first.") % person
        )


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
        _void_links(person)
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
            _void_links(link.person)
    login(request, link.person)
    facts = {"person": link.person.name, "address": address_of(request)}
    journal.write("login_by_link", facts)
    return link.person


def _void_links(person: Person) -> None:
    Link.objects.filter(person=person, used_at=None).delete()


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
