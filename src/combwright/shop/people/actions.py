"""Everything that changes who is here, what they may, and the links that let them in.

Whether the one who acts may do so is the views' to ask (`door.needs`).
"""

import secrets
from datetime import timedelta
from typing import Final

from django.db import IntegrityError, transaction
from django.db.models import F, Q
from django.utils import timezone
from django.utils.translation import gettext as _

from combwright.shop.people import journal
from combwright.shop.people.models import Link, Person, tidy_name
from combwright.shop.people.queries import owners
from combwright.shop.people.refusals import Refused
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
        void_links(person)
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
    void_links(there)
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


def void_links(person: Person) -> None:
    """Let no earlier link of somebody's open anything any more."""
    Link.objects.filter(person=person, used_at=None).delete()
