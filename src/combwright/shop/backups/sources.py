"""Where rows come from: a database now, a backup file later; and their digest, whatever the order.

A row is a list of plain JSON values in the order of its table's columns, so a row of a backup and
the same row of any database are equal.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, Protocol

from django.db.models import Model

from combwright.shop.backups import values
from combwright.shop.backups.tables import Table, blanked, fields, table_of

Row = list[Any]
_AT_ONCE: Final = 2000
_DIGEST_BITS: Final = 256


class Source(Protocol):
    """Tables, and the rows of each in the order of its key."""

    @property
    def tables(self) -> Sequence[Table]:
        """The tables, those that others refer to first."""

    def rows(self, table: Table) -> Iterator[Row]:
        """Give a table's rows."""


class DatabaseSource:
    """The rows of a database, as it is within the caller's transaction.

    Parameters
    ----------
    alias : str
        The database.
    models : sequence of model classes
        What to give, those that others refer to first.
    """

    def __init__(self, alias: str, models: Sequence[type[Model]]) -> None:
        self.alias = alias
        self.models = {model._meta.label_lower: model for model in models}
        self.tables: Sequence[Table] = [table_of(model, models) for model in models]

    def rows(self, table: Table) -> Iterator[Row]:
        """Give a table's rows."""
        model = self.models[table.label]
        empty = blanked(model, table)
        changes = [
            (lambda _value: None) if field.attname in empty else values.writer(field)
            for field in fields(model)
        ]
        query = model._base_manager.using(self.alias).order_by("pk").values_list(*table.columns)
        for row in query.iterator(chunk_size=_AT_ONCE):
            yield [
                value if change is None else change(value)
                for change, value in zip(changes, row, strict=True)
            ]


@dataclass(frozen=True, slots=True)
class Sum:
    """How many rows a table has, and a digest of them that no order changes.

    Databases sort text differently; so the digests of the single rows are added up.
    """

    rows: int
    digest: str


class Adder:
    """Adds rows up to a `Sum`."""

    def __init__(self) -> None:
        self._rows = self._total = 0

    def add(self, line: bytes) -> None:
        """Take in a row, written as a line."""
        self._rows += 1
        self._total += int.from_bytes(hashlib.sha256(line).digest())

    @property
    def sum(self) -> Sum:
        """What it comes to so far."""
        total = self._total % (1 << _DIGEST_BITS)
        return Sum(self._rows, f"{total:0{_DIGEST_BITS // 4}x}")


def sums(source: Source) -> Mapping[str, Sum]:
    """Add up each table of a source."""
    found = {}
    for table in source.tables:
        adder = Adder()
        for row in source.rows(table):
            adder.add(values.line(row))
        found[table.label] = adder.sum
    return found
