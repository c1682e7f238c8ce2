"""Rows put into a database's empty tables, keys and moments as they were."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import islice
from typing import Any, Final

from django.core.management.color import no_style
from django.db import DataError, IntegrityError, connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model

from combwright.errors import CombwrightError
from combwright.shop.backups import values
from combwright.shop.backups.sources import Row, Source
from combwright.shop.backups.tables import Table, fields

_AT_ONCE: Final = 1000


class DoesNotFit(CombwrightError):
    """Rows that the database they are to go into cannot hold."""


def load(source: Source, alias: str, models: Mapping[str, type[Model]]) -> None:
    """Put a source's rows into empty tables; the caller has begun a transaction.

    Parameters
    ----------
    source : Source
        The rows.
    alias : str
        The database they go into.
    models : mapping from label to model class
        The tables they go into.

    Raises
    ------
    DoesNotFit
        If a table or column is not there, or a value is too long or too large for it.
    """
    connection = connections[alias]
    for table in source.tables:
        model = models.get(table.label)
        if model is None or {f.attname for f in fields(model)} != set(table.columns):
            raise DoesNotFit(f"The table {table.label} has other columns here; nothing was done.")
        _load_table(source, table, model, connection)
    reset_sequences(connection, list(models.values()))


def _load_table(
    source: Source, table: Table, model: type[Model], connection: BaseDatabaseWrapper
) -> None:
    by_name = {field.attname: field for field in fields(model)}
    columns = [by_name[name] for name in table.columns]
    names = ", ".join(connection.ops.quote_name(str(field.column)) for field in columns)
    marks = ", ".join(["%s"] * len(columns))
    into = connection.ops.quote_name(model._meta.db_table)
    insert = f"INSERT INTO {into} ({names}) VALUES ({marks})"
    readers = [(values.reader(field), field) for field in columns]

    def prepared(row: Row) -> list[Any]:
        return [
            field.get_db_prep_save(value if read is None else read(value), connection)
            for (read, field), value in zip(readers, row, strict=True)
        ]

    with connection.cursor() as cursor:
        try:
            rows = source.rows(table)
            while some := [prepared(row) for row in islice(rows, _AT_ONCE)]:
                cursor.executemany(insert, some)
        except (DataError, IntegrityError, ValueError) as error:
            told = str(error).splitlines()[0]
            raise DoesNotFit(
                f"The database cannot hold the table {table.label} ({told}); nothing was done."
            ) from error


def empty(alias: str, models: Iterable[type[Model]]) -> None:
    """Delete all rows of tables; references are looked at when the transaction ends."""
    connection = connections[alias]
    with connection.cursor() as cursor:
        for model in models:
            cursor.execute(f"DELETE FROM {connection.ops.quote_name(model._meta.db_table)}")


def reset_sequences(connection: BaseDatabaseWrapper, models: Sequence[type[Model]]) -> None:
    """Have the next row of each table take a key that is free."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models)):
            cursor.execute(statement)
