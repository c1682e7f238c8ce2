"""Orders from a file, as the command line reads it, held against what the shop has.

Layouts and combs are the shop's own, by their codes or by the file names that the shop gives them
(`layout-low-drone.toml`), or the catalogue's; nicknames are understood. An order whose copies may
ship alone becomes an order for each copy. All problems are found before anything is taken in.
"""

import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from django.db.models import CharField, TextField
from django.utils.translation import gettext as _

from combwright.allocation.orders import ORDINARY_PRIORITY
from combwright.files.cells import choice, money, name, whole
from combwright.files.decimals import Mark
from combwright.files.orders import (
    MOST_QUANTITY,
    ORDER_COLUMNS,
    Terms,
    agreed_on,
    read_terms,
)
from combwright.files.results import BadCell, BadFile
from combwright.files.tables import Table, complete, read_table
from combwright.files.wishes import WHATS, BadWish
from combwright.notes.keys import parse_key
from combwright.notes.pitch import check_a4
from combwright.shop.designs.queries import tidy_code
from combwright.shop.orders.models import Order, Wish
from combwright.shop.orders.places import check_number
from combwright.shop.orders.queries import layouts_named
from combwright.shop.orders.reading import Reader

#: All are taken in at once, so they are made in one transaction.
MOST_ORDERS: Final = 1_000
_MOST_VALUE: Final = Decimal("999999999999.99")
_CENT: Final = Decimal("0.01")
_TEXTS: Final = ("changes", "kit")


@dataclass(frozen=True, slots=True)
class Said:
    """An order as a file says it: the fields of the order and of its wishes.

    `first` is the number of the order that it is a delivery of; empty where it is none.
    """

    number: str
    due: date | None
    priority: int
    value: Decimal
    promised: bool
    wishes: Sequence[Mapping[str, Any]]
    first: str = ""

    def facts(self) -> dict[str, Any]:
        """Return the fields of the order itself."""
        return {
            "number": self.number,
            "due": self.due,
            "priority": self.priority,
            "value": self.value,
            "promised": self.promised,
        }


@dataclass(frozen=True, slots=True)
class Contents:
    """What a file says."""

    orders: Sequence[Said]
    warnings: Sequence[str]


def read_contents(data: bytes, file: str, decimal: Mark | None = None) -> Contents:
    """Read an uploaded file of orders.

    Parameters
    ----------
    data : bytes
        The file, CSV or a workbook.
    file : str
        A name that fits a file system; it stands before every problem.
    decimal : {"point", "comma"} or None
        The decimal mark; None to tell it from the file.

    Raises
    ------
    BadFile
        If the file as a whole cannot be read, or holds more than `MOST_ORDERS` orders.
    BadTable
        If anything in it is wrong, or one of its orders is there already; a line for each problem.
    """
    with tempfile.TemporaryDirectory(prefix="combwright-orders-") as folder:
        path = Path(folder) / file
        path.write_bytes(data)
        table = read_table(path, ORDER_COLUMNS, decimal=decimal)
    wishes, quantities = _wishes(table)
    terms = read_terms(table, table.filled("order", _number))
    values = table.optional("value", _value, Decimal(1))
    for each in terms:
        agreed_on(table, "value", values, each.name, each.places)
    numbers = [_numbers(each, quantities) for each in terms]
    _refuse_many(table, sum(map(len, numbers)))
    _refuse_known(table, terms, numbers)
    table.finish()
    orders = [
        said
        for each, called in zip(terms, numbers, strict=True)
        for said in _orders(each, called, complete(wishes), complete(values))
    ]
    return Contents(orders, table.warnings)


def _numbers(terms: Terms, quantities: Sequence[int | None]) -> Sequence[str]:
    """Return the numbers of the orders that an order of the file becomes."""
    if not terms.split:
        return [terms.name]
    copies = sum(quantities[place] or 0 for place in terms.places)
    return [f"{terms.name}/{n}" for n in range(1, copies + 1)]


def _refuse_many(table: Table, orders: int) -> None:
    if orders > MOST_ORDERS:
        raise BadFile(
            _("%(file)s holds %(n)d orders; take in at most %(most)d at once.")
            % {"file": table.name, "n": orders, "most": MOST_ORDERS}
        )


def _number(text: str) -> str:
    return check_number(name(text))


def _value(text: str) -> Decimal:
    value = money(text)
    if value > _MOST_VALUE or value != value.quantize(_CENT):
        raise BadCell(
            _("a value of %(value)s cannot be kept; write two decimals, at most %(most)s.")
            % {"value": f"{value:f}", "most": _MOST_VALUE}
        )
    return value


def _orders(
    terms: Terms,
    numbers: Sequence[str],
    rows: Sequence[Mapping[str, Any]],
    values: Sequence[Decimal],
) -> Iterator[Said]:
    wishes = [rows[place] for place in terms.places]
    parts = [wishes]
    if terms.split:
        parts = [[{**e, "quantity": 1}] for e in wishes for _copy in range(e["quantity"])]
    for number, part in zip(numbers, parts, strict=True):
        yield Said(
            number,
            terms.due,
            ORDINARY_PRIORITY if terms.priority is None else terms.priority,
            values[terms.places[0]],
            bool(terms.promised),
            part,
            "" if number == numbers[0] else numbers[0],
        )


def _refuse_known(table: Table, terms: Sequence[Terms], numbers: Sequence[Sequence[str]]) -> None:
    """Note orders that the shop has already, and two of the file that would have one number."""
    wanted = {each for called in numbers for each in called}
    taken = set(Order.objects.filter(number__in=wanted).values_list("number", flat=True))
    for each, called in zip(terms, numbers, strict=True):
        row, again = table.rows[each.places[0]], [one for one in called if one in taken]
        if again:
            table.problems.add(
                _("there is an order %s already; leave it out, or give it another number.")
                % ", ".join(again[:5]),
                row=row,
                column="order",
            )
        elif called and len(called[-1]) > _longest("number", Order):
            table.problems.add(
                _("%s is too long for the number of a copy.") % called[-1], row=row, column="order"
            )
        taken.update(called)


def _wishes(table: Table) -> tuple[list[dict[str, Any] | None], list[int | None]]:
    """Read each row as the fields of a wish that can be built; give the quantities apart, too."""
    reader = Reader()
    columns: dict[str, list[Any]] = {
        "what": table.optional("what", choice(WHATS), WHATS[0]),
        "quantity": table.optional("quantity", whole(1, MOST_QUANTITY), 1),
        "key": table.filled("key", lambda text: parse_key(text).name),
        "layout": table.filled("layout", lambda text: _layout(text, reader)),
        "changes": table.optional("changes", _kept("changes", reader.changes), ""),
        "kit": table.optional("kit", _kept("kit", reader.kit), ""),
        "temperament": table.optional(
            "temperament", _kept("temperament", reader.temperament), "equal"
        ),
        "a4": table.optional("a4", _a4, Decimal(440)),
        "comb": table.optional("comb", lambda text: _comb(text, reader), ""),
    }
    wishes: list[dict[str, Any] | None] = []
    for row, *parts in zip(table.rows, *columns.values(), strict=True):
        said = dict(zip(columns, parts, strict=True))
        wishes.append(None if None in parts else _buildable(table, row, said, reader))
    return wishes, columns["quantity"]


def _buildable(
    table: Table, row: int, said: dict[str, Any], reader: Reader
) -> dict[str, Any] | None:
    try:
        reader.check(Wish(**said))
    except BadWish as error:
        for column, text in error.problems:
            table.problems.add(text, row=row, column=column)
        return None
    return said


def _kept(field: str, read: Callable[[str], object]) -> Callable[[str], str]:
    """Return a reader of a text that is kept as it stands, once it can be understood."""

    def checked(text: str) -> str:
        most = _longest(field, Wish)
        if len(text) > most:
            raise BadCell(_("this is too long here; %d characters are the most.") % most)
        read(text)
        return text

    return checked


def _longest(field: str, model: type[Order] | type[Wish]) -> int:
    kept = model._meta.get_field(field)
    return (kept.max_length or 0) if isinstance(kept, CharField | TextField) else 0


def _a4(text: str) -> Decimal:
    check_a4(float(text))
    exact = Decimal(text)
    if exact != exact.quantize(_CENT):
        raise BadCell(_("%s Hz cannot be kept; write two decimals at most.") % text)
    return exact


def _layout(text: str, reader: Reader) -> str:
    word = text.removeprefix("layout-").removesuffix(".toml") if text.endswith(".toml") else text
    meant = layouts_named(word)
    if len(meant) > 1:
        raise BadCell(
            _("%(word)s means %(n)d layouts here; write one of their names: %(names)s.")
            % {"word": word, "n": len(meant), "names": ", ".join(meant)}
        )
    code = meant[0] if meant else word
    reader.layout(code)
    return code


def _comb(text: str, reader: Reader) -> str:
    word = text.removeprefix("comb-").removesuffix(".toml") if text.endswith(".toml") else text
    code = tidy_code(word)
    reader.comb(code)
    return code
