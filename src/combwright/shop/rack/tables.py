"""What the shop gives out as tables: the rack, the store, parts, batches, and the whole ledger.

`rack` and `parts` are in the formats that `files.rack` and `files.parts` read back. The others have
a row for each thing and a header that says what it is.

A spreadsheet takes a text that begins with =, +, -, @ (or with a tab or a carriage return) for a
formula. Such a text gets a no-break space before it: then it is a text everywhere, and the readers,
which take blanks off both ends of a cell, undo it. No name can begin with one, as every name that
is typed or read has lost its outer blanks. Characters that cannot be seen, which the readers
refuse, are written as U+FFFD.
"""

import heapq
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final

from django.db.models import Count, Sum
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from combwright.files.parts import PARTS_COLUMNS
from combwright.files.rack import RACK_COLUMNS
from combwright.shop.rack.models import (
    MICRONS_PER_MM,
    MILLICENTS_PER_CENT,
    Batch,
    Bin,
    Item,
    ItemLine,
    Line,
)

Cell = str | Decimal | int
Row = Sequence[Cell]

#: `#` too: a text such as #N/A would be written as an error value.
_TAKEN_FOR_MORE: Final = ("=", "+", "-", "@", "#", "\t", "\r")
_DEFUSED: Final = "\u00a0"
#: Rows that are held in memory at a time.
AT_ONCE: Final = 1_000
_CENT: Final = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Table:
    """A table that is given out; `rows` asks the database anew each time."""

    name: str
    about: Promise
    header: tuple[str, ...]
    rows: Callable[[], Iterator[Row]]


def text_cell(text: str) -> str:
    """Return a text as a cell that no spreadsheet takes for a formula."""
    seen = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return _DEFUSED + seen if text.startswith(_TAKEN_FOR_MORE) else seen


def _yes(held: bool) -> str:
    return "yes" if held else "no"


def _time(when: datetime | None) -> str:
    """Return a moment on the shop's clock, with how far that is from UTC."""
    return timezone.localtime(when).isoformat(sep=" ", timespec="seconds") if when else ""


def rack_rows() -> Iterator[Row]:
    """Give the rack's bins along the walk; one query."""
    for each in Bin.objects.select_related("batch").iterator(AT_ONCE):
        stock = each.as_stock()
        yield (
            text_cell(stock.code),
            each.note,
            Decimal(each.millicents) / MILLICENTS_PER_CENT,
            Decimal(each.slot_um) / MICRONS_PER_MM,
            stock.mount,
            text_cell(stock.batch),
            stock.count,
            stock.cost,
            text_cell(stock.cut),
            text_cell(stock.walk),
            _yes(stock.held),
        )


def item_rows() -> Iterator[Row]:
    """Give the sets, donors and parts along the walk; one query."""
    for each in Item.objects.select_related("batch").iterator(AT_ONCE):
        yield (
            text_cell(each.code),
            each.kind,
            text_cell(each.about),
            text_cell(each.key),
            text_cell(each.layout),
            text_cell(each.batch.code if each.batch else ""),
            text_cell(each.part),
            text_cell(each.walk),
            each.cost,
            _yes(each.held),
            each.count,
            _time(each.counted_at),
        )


def part_rows() -> Iterator[Row]:
    """Give each part once, as plans read it: what is held is not counted in; one query.

    A part that lies in several places costs what one of them costs on average.
    """
    counts: dict[str, int] = {}
    worth: dict[str, Decimal] = {}
    dearest: dict[str, Decimal] = {}
    parts = Item.objects.filter(kind=Item.PART).order_by("part", "code")
    for part, count, cost, held in parts.values_list("part", "count", "cost", "held"):
        free = 0 if held else count
        counts[part] = counts.get(part, 0) + free
        worth[part] = worth.get(part, Decimal(0)) + free * cost
        dearest[part] = max(dearest.get(part, Decimal(0)), cost)
    for part, count in counts.items():
        mean = (worth[part] / count).quantize(_CENT) if count else dearest[part]
        yield text_cell(part), count, mean


def batch_rows() -> Iterator[Row]:
    """Give the batches with how many bins and plates each has; one query."""
    counted = Batch.objects.annotate(bin_count=Count("bins"), plates=Sum("bins__count", default=0))
    for each in counted.order_by("code").iterator(AT_ONCE):
        yield (
            text_cell(each.code),
            text_cell(each.about),
            _yes(each.held),
            text_cell(each.held_because),
            each.bin_count,
            each.plates,
        )


_LEDGER: Final = (
    "entry", "entry__made_at", "entry__why", "entry__made_by__name", "entry__note",
    "entry__corrects", "change", "after",
)  # fmt: skip


def ledger_rows() -> Iterator[Row]:
    """Give every line of the ledger, oldest first; two queries, read bit by bit."""
    of_bins = Line.objects.order_by("pk").values_list(*_LEDGER, "bin__code")
    of_items = ItemLine.objects.order_by("pk").values_list(*_LEDGER, "item__code")
    yield from heapq.merge(
        _ledger(of_bins.iterator(AT_ONCE), is_bin=True),
        _ledger(of_items.iterator(AT_ONCE), is_bin=False),
        key=lambda row: row[0],
    )


def _ledger(lines: Iterator[tuple[Any, ...]], *, is_bin: bool) -> Iterator[Row]:
    for entry, made_at, why, who, note, corrects, change, after, code in lines:
        cell = text_cell(code)
        yield (
            entry, _time(made_at), why, text_cell(who), text_cell(note), corrects or "",
            cell if is_bin else "", "" if is_bin else cell, change, after,
        )  # fmt: skip


TABLES: Final[Mapping[str, Table]] = MappingProxyType(
    {
        table.name: table
        for table in (
            Table(
                "rack",
                _("The rack's bins, as they can be taken in again."),
                tuple(column.name for column in RACK_COLUMNS),
                rack_rows,
            ),
            Table(
                "items",
                _("Sets, donor instruments and parts, one row each."),
                ("name", "kind", "about", "key", "layout", "batch", "part", "place", "cost",
                 "held", "count", "counted"),
                item_rows,
            ),
            Table(
                "parts",
                _("Parts as plans read them: added up by part, without what is held."),
                tuple(column.name for column in PARTS_COLUMNS),
                part_rows,
            ),
            Table(
                "batches",
                _("Batches, with how many bins and plates each has."),
                ("batch", "about", "held", "held_because", "bins", "plates"),
                batch_rows,
            ),
            Table(
                "ledger",
                _("Every line of the ledger: when, who, why, how many. It may be long."),
                ("entry", "when", "why", "who", "note", "takes_back", "bin", "item", "change",
                 "after"),
                ledger_rows,
            ),
        )
    }
)  # fmt: skip
