"""A database looked at beside the shop's own connection, and one moment of the shop kept still.

The shop's own connection takes SQLite's write lock whenever it begins. A snapshot only reads: it
has a connection of its own, on which people's writing neither waits nor shows.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from copy import deepcopy
from itertools import count
from typing import Any, Final

from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.utils import load_backend

from combwright.errors import CombwrightError
from combwright.shop.backups.migration_state import is_current
from combwright.shop.backups.sources import DatabaseSource
from combwright.shop.backups.tables import kept_models

_NUMBERS: Final = count(1)


class NotUpToDate(CombwrightError):
    """A database that this version of Combwright has not been opened with yet."""


@contextmanager
def beside(settings: dict[str, Any]) -> Iterator[str]:
    """Open a database beside the shop's own for a while, in this thread; give its alias.

    Parameters
    ----------
    settings : dict
        As Django's setting DATABASES has them.
    """
    full = connections.configure_settings({DEFAULT_DB_ALIAS: settings})[DEFAULT_DB_ALIAS]
    alias = f"beside-{next(_NUMBERS)}"
    made = load_backend(full["ENGINE"]).DatabaseWrapper(full, alias)
    connections[alias] = made
    try:
        yield alias
    finally:
        made.close()
        del connections[alias]


@contextmanager
def snapshot() -> Iterator[DatabaseSource]:
    """Give the shop as it is at this moment, while people go on working.

    Raises
    ------
    NotUpToDate
        If the database has to be brought up to date first.
    """
    with beside(_reading(connections[DEFAULT_DB_ALIAS])) as alias, transaction.atomic(using=alias):
        connection = connections[alias]
        with connection.cursor() as cursor:
            # The first look is the moment; on SQLite beginning alone is not.
            still = connection.vendor == "postgresql"
            cursor.execute("SET TRANSACTION READ ONLY" if still else "PRAGMA query_only = ON")
            cursor.execute("SELECT 1 FROM django_migrations LIMIT 1")
        if not is_current(connection):
            raise NotUpToDate(
                "The shop's database is older or newer than this version of Combwright; open the "
                "shop once with 'combwright serve', which brings it up to date, then try again."
            )
        yield DatabaseSource(alias, kept_models())


def _reading(own: BaseDatabaseWrapper) -> dict[str, Any]:
    settings = deepcopy(own.settings_dict)
    if own.vendor == "sqlite":
        settings["OPTIONS"] = {**settings["OPTIONS"], "transaction_mode": "DEFERRED"}
    else:
        from psycopg import IsolationLevel

        level = IsolationLevel.REPEATABLE_READ
        settings["OPTIONS"] = {**settings["OPTIONS"], "isolation_level": level}
    return settings
