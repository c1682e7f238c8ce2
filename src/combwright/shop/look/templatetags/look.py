"""What the frame of every page asks for: the ways into the rooms, and the numbers of a pager."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.core.paginator import Page
from django.template import Context, Library
from django.urls import NoReverseMatch, reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from combwright.shop.look.house import Door, doors

register = Library()

#: The rooms in the order of the day: address, name, and the right that opens it.
_ROOMS: Final[Sequence[tuple[str, Promise, str]]] = (
    ("today:next", _("Next"), "look"),
    ("orders:list", _("Orders"), "look"),
    ("repertoire:list", _("Tunes"), "look"),
    ("plans:list", _("Plans"), "plan"),
    ("bench:list", _("Bench"), "look"),
    ("tuning:list", _("Tuning"), "tune"),
    ("rack:heat", _("Rack"), "look"),
    ("rack:items", _("Stores"), "look"),
    ("counting:rounds", _("Counting"), "count"),
    ("papers:scan", _("Scan"), "look"),
    ("look:house", _("House"), "look"),
)
_MINE: Final = ("people:me", _("My page"), "")


@dataclass(frozen=True, slots=True)
class Way:
    """A link of the navigation; `current` is the value of its aria-current, or empty."""

    address: str
    label: str
    current: str
    mine: bool


@register.simple_tag(takes_context=True)
def ways(context: Context) -> tuple[Way, ...]:
    """List the rooms that this person may enter, and the person's own page last.

    A room that is not built in is left out. Of rooms inside one another only the innermost is
    current: "page" on its first page, "true" further in.
    """
    may: Mapping[str, bool] = context.get("may") or {}
    here = str(getattr(context.get("request"), "path", ""))
    open_to_one = [
        (address, name, label)
        for name, label, right in (*_ROOMS, _MINE)
        if (not right or may.get(right)) and (address := _address(name))
    ]
    within = max((a for a, _name, _label in open_to_one if here.startswith(a)), key=len, default="")
    return tuple(
        Way(
            address,
            str(label),
            ("page" if here == address else "true") if address == within else "",
            name == _MINE[0],
        )
        for address, name, label in open_to_one
    )


def _address(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


@register.simple_tag(takes_context=True)
def house_doors(context: Context) -> list[Door]:
    """List the rooms behind the house's page that this person may enter."""
    return doors(context.get("may") or {})


@register.filter
def numbers(page: Page[Any]) -> Iterator[int | str]:
    """Give the page numbers to link to; where some are left out, a mark that is no number."""
    return page.paginator.get_elided_page_range(page.number, on_each_side=1, on_ends=1)
