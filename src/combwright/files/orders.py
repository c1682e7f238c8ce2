"""orders.csv: what is wanted, and which rows ship together."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, TypeVar

from combwright.allocation.orders import ORDINARY_PRIORITY, Copy, Design, Order
from combwright.comb.changes import parse_changes, parse_kit
from combwright.comb.combs import Comb
from combwright.comb.layouts import Layout
from combwright.files.cells import choice, day, money, name, whole, yes_no
from combwright.files.combs import read_comb
from combwright.files.decimals import Mark
from combwright.files.grids import Column
from combwright.files.layouts import look_up_layout
from combwright.files.results import Read
from combwright.files.tables import Table, complete, read_table
from combwright.files.temperaments import look_up_temperament
from combwright.files.wishes import WHATS, BadWish, Designs, Wish
from combwright.notes.keys import parse_key
from combwright.notes.pitch import STANDARD_A4_HZ, check_a4
from combwright.notes.temperament import EQUAL, Temperament

T = TypeVar("T")
MOST_QUANTITY: Final = 10_000
MOST_COPIES: Final = 1_000_000
LOWEST_PRIORITY: Final = 1_000_000
ORDER_COLUMNS: Final = (
    Column("order"),
    Column("what", must=False),
    Column("quantity", must=False, number=True),
    Column("key"),
    Column("layout"),
    Column("changes", must=False),
    Column("kit", must=False),
    Column("temperament", must=False),
    Column("a4", must=False, number=True),
    Column("comb", must=False),
    Column("due", must=False),
    Column("priority", must=False, number=True),
    Column("value", must=False, number=True),
    Column("promised", must=False),
    Column("split", must=False),
)


@dataclass(frozen=True, slots=True)
class Terms:
    """On what terms an order ships; None where none of its rows says it.

    `places` are those of its rows among all rows, from 0.
    """

    name: str
    places: Sequence[int]
    priority: int | None
    promised: bool | None
    due: date | None
    split: bool | None

    def order(self, copies: tuple[Copy, ...], value: Decimal) -> Order:
        """Return the order of some copies, worth a value in all."""
        return Order(
            self.name,
            copies,
            value,
            ORDINARY_PRIORITY if self.priority is None else self.priority,
            bool(self.promised),
            self.due,
            bool(self.split),
        )


def read_orders(
    path: Path | str, *, comb: Comb, decimal: Mark | None = None
) -> Read[tuple[Order, ...]]:
    """Read orders, those first that stand first; rows of one `order` ship together.

    An order is worth the value of each of its copies, summed. An order whose rows all say `split`
    comes as one `Order` a copy, worth that copy's value. Equal wishes share one `Design`.

    Parameters
    ----------
    path : Path or str
        Of a CSV file or a workbook. Layouts, temperaments and combs in it that end in `.toml` are
        files relative to it.
    comb : Comb
        The comb of rows that name none.
    decimal : {"point", "comma"}, optional
        The decimal mark; told from the file where it is not given.

    Raises
    ------
    BadFile
        If the file as a whole cannot be read.
    BadTable
        If anything in it is wrong, one line for each: a key, layout, change or date that is none,
        a layout beyond its comb, rows of one order that disagree on `priority`, `promised`, `due`
        or `split`. An empty cell agrees with any, but for `split`, where it says no.
    """
    table = read_table(path, ORDER_COLUMNS, decimal=decimal)
    names = table.filled("order", name)
    quantities = table.optional("quantity", whole(1, MOST_QUANTITY), 1)
    values = table.optional("value", money, Decimal(1))
    warnings: dict[str, None] = {}
    designs = _designs(table, Path(path).parent, comb, warnings)
    terms = read_terms(table, names)
    if sum(quantity or 0 for quantity in quantities) > MOST_COPIES:
        table.problems.add(f"there are more than {MOST_COPIES:,} copies in all; that is the most.")
    table.finish()
    rows = list(
        zip(table.rows, complete(quantities), complete(designs), complete(values), strict=True)
    )
    orders = tuple(order for each in terms for order in _orders(each, rows))
    return Read(orders, (*table.warnings, *warnings))


def _orders(terms: Terms, rows: Sequence[tuple[int, int, Design, Decimal]]) -> Iterator[Order]:
    """Yield one order, or one a copy where its copies may ship alone."""
    copies: list[Copy] = []
    total = Decimal(0)
    for place in terms.places:
        row, quantity, design, value = rows[place]
        made = [Copy(row, n, design) for n in range(1, quantity + 1)]
        if terms.split:
            yield from (terms.order((copy,), value) for copy in made)
        copies += made
        total += value * quantity
    if not terms.split:
        yield terms.order(tuple(copies), total)


def _designs(
    table: Table, folder: Path, comb: Comb, warnings: dict[str, None]
) -> list[Design | None]:
    """Read what is wanted in each row; warnings of the files that it names are added."""

    def noted(found: Read[T]) -> T:
        warnings.update(dict.fromkeys(found.warnings))
        return found.value

    def layout(text: str) -> Layout:
        return noted(look_up_layout(text, folder))

    def temperament(text: str) -> Temperament:
        return noted(look_up_temperament(text, folder))

    def other_comb(text: str) -> Comb:
        return noted(read_comb(folder / text))

    parts = zip(
        table.filled("key", parse_key),
        table.filled("layout", layout),
        table.optional("comb", other_comb, comb),
        table.optional("what", choice(WHATS), "instrument"),
        table.optional("changes", parse_changes, parse_changes("")),
        table.optional("kit", parse_kit, parse_kit("")),
        table.optional("temperament", temperament, EQUAL),
        table.optional("a4", lambda text: check_a4(float(text)), STANDARD_A4_HZ),
        strict=True,
    )
    designs = Designs()
    return [_design(table, row, designs, each) for row, each in zip(table.rows, parts, strict=True)]


def _design(table: Table, row: int, designs: Designs, parts: tuple[Any, ...]) -> Design | None:
    if table.problems and any(part is None for part in parts):
        return None  # what is wrong was noted when the columns were read
    try:
        return designs.of(Wish(*parts))
    except BadWish as error:
        for column, text in error.problems:
            table.problems.add(text, row=row, column=column)
        return None


def read_terms(table: Table, names: Sequence[str | None]) -> list[Terms]:
    """Read on what terms each order ships; rows that disagree are noted.

    Parameters
    ----------
    table : Table
        With the columns of an orders file.
    names : sequence of str or None
        The order of each row; None where its cell is bad.
    """
    groups: defaultdict[str, list[int]] = defaultdict(list)
    for place, order in enumerate(names):
        if order is not None:
            groups[order].append(place)
    columns: tuple[tuple[str, Sequence[Any]], ...] = (
        ("priority", table.maybe("priority", whole(1, LOWEST_PRIORITY))),
        ("promised", table.maybe("promised", yes_no)),
        ("due", table.maybe("due", day)),
        ("split", table.optional("split", yes_no, False)),
    )
    agreed = [
        [agreed_on(table, column, values, order, places) for order, places in groups.items()]
        for column, values in columns
    ]
    return [
        Terms(order, places, *each)
        for (order, places), *each in zip(groups.items(), *agreed, strict=True)
    ]


def agreed_on(
    table: Table, column: str, values: Sequence[T | None], order: str, places: Sequence[int]
) -> T | None:
    """Return what an order's rows say, None where none says anything; note where they disagree."""
    first = places[0]
    for place in places[1:]:
        if values[first] is None:
            first = place
        elif values[place] is not None and values[place] != values[first]:
            here, there = (table.texts(column)[each] or "nothing" for each in (place, first))
            table.problems.add(
                f"order {order!r} has {here} here, but {there} in row {table.rows[first]}; "
                "its rows must agree.",
                row=table.rows[place],
                column=column,
            )
    return values[first]
