"""Rooms above this one that have something to say on the day's page.

They register it when the shop's rooms are loaded, so that this room need not import them. What they
say is asked for on every look at the page, so it must be cheap: a question or two to the database.
"""

from collections.abc import Callable, Iterator
from typing import Final

from combwright.shop.people.models import Person
from combwright.shop.today.parts import Section

Says = Callable[[Person], Section | None]
_SAYS: Final[dict[str, Says]] = {}


def notice(says: Says) -> Says:
    """Have a function asked for a section of somebody's page; None where it has nothing to say."""
    _SAYS[f"{says.__module__}.{says.__qualname__}"] = says
    return says


def notices(person: Person) -> Iterator[Section]:
    """Give the sections of the rooms above."""
    for says in _SAYS.values():
        section = says(person)
        if section is not None:
            yield section
