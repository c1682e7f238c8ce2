"""Somebody's day: which sections they see, in which order, and what is the most urgent of all."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from django.utils.translation import gettext as _

from combwright.shop.orders.models import Order
from combwright.shop.people.models import Person
from combwright.shop.people.roles import Role
from combwright.shop.rack.models import Bin
from combwright.shop.today import house_sections
from combwright.shop.today.notices import notices
from combwright.shop.today.order_sections import Orders
from combwright.shop.today.parts import Act, Section
from combwright.shop.today.ways import way

#: What each role does first; what a role does not have is not its work.
WORK: Final[Mapping[str, Sequence[str]]] = MappingProxyType(
    {
        Role.OWNER: (
            "danger", "backup", "jobs", "send", "bench", "picking", "pick", "unplanned", "waiting",
            "due", "count", "held",
        ),
        Role.OFFICE: (
            "danger", "unplanned", "send", "waiting", "jobs", "due", "pick", "picking", "bench",
            "count", "held",
        ),
        Role.MAKER: (
            "bench", "picking", "pick", "unplanned", "danger", "waiting", "due", "jobs", "held",
            "count",
        ),
        Role.PACKER: ("send", "picking", "pick", "due", "count", "jobs", "held"),
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Day:
    """What the page shows: the sections that have something, and the one thing to do next."""

    sections: Sequence[Section]
    next: Section | None


def day_of(person: Person) -> Day:
    """Return somebody's day."""
    above = {each.name: each for each in notices(person)}
    asked = _asked(person)
    found = [
        above.get(name) or (asked[name]() if name in asked else None) for name in _work(person)
    ]
    sections = [each for each in found if each is not None]
    return Day(sections, _next(sections))


def _work(person: Person) -> Sequence[str]:
    return WORK.get(person.role, ())


def _asked(person: Person) -> Mapping[str, Callable[[], Section | None]]:
    orders = Orders(person)
    return {
        "pick": orders.pick,
        "picking": orders.picking,
        "bench": orders.bench,
        "send": orders.send,
        "due": orders.due,
        "danger": orders.danger,
        "unplanned": orders.unplanned,
        "waiting": orders.waiting,
        "count": lambda: house_sections.count(person),
        "held": lambda: house_sections.held(person),
        "jobs": lambda: house_sections.jobs(person),
    }


def _next(sections: Sequence[Section]) -> Section | None:
    """Return the section to begin with: one whose first order is overdue, else the role's first.

    What can only be looked at waits until nothing is left to be done.
    """
    doable = [each for each in sections if each.act is not None]
    # Sorting keeps the role's order among equals.
    return min(doable, key=lambda each: (each.name == "due", not each.over), default=None)


@dataclass(frozen=True, slots=True)
class FirstStep:
    """What somebody does first in a shop where there is nothing yet."""

    what: str
    todo: str
    act: Act


def first_step(person: Person) -> FirstStep | None:
    """Return the first step in a shop without bins and orders; None once there is something."""
    if Bin.objects.exists() or Order.objects.exists():
        return None
    order = way("orders:new")
    if person.role == Role.OFFICE and order:
        todo = _("Write down what somebody wishes; the rest of the shop goes on from there.")
        return FirstStep(_("No order yet."), todo, Act(_("Make an order"), order))
    if person.role == Role.PACKER:
        todo = _("Give a bin its name and say which plates lie in it.")
        return FirstStep(
            _("The rack has no bins yet."), todo, Act(_("Make a bin"), way("rack:new"))
        )
    todo = _("Receive a factory set, and its twenty plates lie in twenty bins.")
    return FirstStep(
        _("The rack is empty."), todo, Act(_("Receive a set"), way("rack:set"))
    )  # fmt: skip
