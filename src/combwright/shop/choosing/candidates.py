"""The instruments that are ranked for a repertoire: layouts, and the customer's own."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import QuerySet

from combwright.comb.changes import apply_changes
from combwright.comb.layouts import Layout
from combwright.notes.keys import parse_key
from combwright.shop.designs import queries as designs
from combwright.shop.orders.models import Wish
from combwright.shop.orders.reading import Reader
from combwright.shop.register.models import Instrument
from combwright.shop.repertoire.models import Repertoire

#: Of a customer with more instruments the newest are offered.
MOST_OWN: Final = 50


@dataclass(frozen=True, slots=True)
class Offered:
    """An instrument to rank.

    Parameters
    ----------
    code, title : str
        Its layout.
    sounding : Layout
        In its key, with its changes.
    key : str
        Empty where any will do.
    changes : str
        As a wish says them.
    serial : str
        Of the customer's own; else empty.
    """

    code: str
    title: str
    sounding: Layout
    key: str = ""
    changes: str = ""
    serial: str = ""

    @property
    def told(self) -> dict[str, str]:
        """What an answer keeps of it."""
        return {
            "layout": self.code, "title": self.title, "key": self.key, "changes": self.changes,
            "serial": self.serial,
        }  # fmt: skip


def own_instruments(repertoire: Repertoire) -> QuerySet[Instrument]:
    """Return the finished instruments of whoever plays a repertoire, the newest first."""
    who = repertoire.customer_id
    if who is None:
        return Instrument.objects.none()
    made = Instrument.objects.filter(
        order__customer=who, taken_apart_at=None, finished_at__isnull=False,
        wish__what=Wish.INSTRUMENT,
    )  # fmt: skip
    return made.select_related("wish").order_by("-pk")[:MOST_OWN]


def candidates(asked: Mapping[str, Any], repertoire: Repertoire) -> tuple[Offered, ...]:
    """Return what a question about layouts is about; of all layouts where it names none.

    Raises
    ------
    NoSuchDesign
        If a layout is gone.
    CombwrightError
        If an own instrument can no longer be read.
    """
    own = _own(asked["own"], own_instruments(repertoire))
    return (*own, *_layouts(asked["layouts"], asked.get("keys", ())))


def _layouts(codes: Sequence[str], keys: Sequence[str]) -> Iterator[Offered]:
    found = {code: designs.layout(code) for code in codes}
    if not codes:
        found = {known.code: known.layout for known in designs.layouts()}
    for code, layout in found.items():
        if not keys:
            yield Offered(code, layout.title, layout)
        for key in keys:
            yield Offered(code, layout.title, layout.in_key(parse_key(key)), key)


def _own(serials: Collection[str], instruments: QuerySet[Instrument]) -> Iterator[Offered]:
    reader = Reader()
    for each in instruments:
        if each.serial not in serials:
            continue
        row = each.wish
        base = reader.layout(row.layout)
        sounding = apply_changes(base.in_key(parse_key(row.key)), reader.changes(row.changes))
        yield Offered(row.layout, base.title, sounding, row.key, row.changes, each.serial)
