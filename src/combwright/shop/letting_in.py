"""A way in for somebody who lost the password when no owner can make them a link."""

from typing import Final

import django
from django.core.management import call_command

_HOURS: Final = 1


def link_for(name: str) -> str:
    """Return the path of a link on which somebody chooses a new password; it opens once.

    Parameters
    ----------
    name : str
        What they log in with.

    Raises
    ------
    Refused
        If nobody is called that, or if they are barred.
    """
    django.setup()
    call_command("migrate", verbosity=0, interactive=False)
    from combwright.shop.people import actions, journal
    from combwright.shop.people.models import Person
    from combwright.shop.people.refusals import Refused
    from combwright.shop.people.views import link_address

    person = Person.objects.named(name)
    if person is None:
        known = ", ".join(Person.objects.values_list("name", flat=True)[:20])
        raise Refused(f"Nobody logs in as {name!r}; there are: {known or 'none yet'}.")
    if not person.is_active:
        raise Refused(f"{person.name!r} is barred; an owner must let them in again first.")
    token = actions.make_link(person, _HOURS, chooses_password=True)
    journal.write("link_made", {"person": person.name, "by": "the command line"})
    return link_address(token)
