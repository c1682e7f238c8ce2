"""Moving the shop from SQLite to PostgreSQL: copied while nobody can write, then proved equal.

The old database stays as it was, but takes no more rows: triggers refuse them, also to somebody
who waited for the lock all the while. A marker in the data folder keeps it from being served by
accident; once the marker is deleted, the next start takes the triggers away.
"""

import contextlib
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final
from urllib.parse import urlsplit

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, Error, connection, connections, transaction
from django.utils import timezone

from combwright.errors import CombwrightError
from combwright.shop.backups.manifest import Unsound
from combwright.shop.backups.migration_state import is_current, migrate_fully
from combwright.shop.backups.proof import prove
from combwright.shop.backups.restoring import fill
from combwright.shop.backups.snapshots import beside
from combwright.shop.backups.sources import DatabaseSource, Sum, sums
from combwright.shop.backups.tables import emptied_models, kept_models
from combwright.shop.backups.writing import Told, quiet
from combwright.shop.people.models import Person
from combwright.shop.where import moved_marker, postgresql

_TRIGGER: Final = "moved_away_"
_REFUSAL: Final = "This shop was moved to another database; nothing was written."


class CannotMove(CombwrightError):
    """A shop that cannot be moved, or a database that it cannot be moved to."""


def move(address: str, *, told: Told = quiet) -> Mapping[str, Sum]:
    """Move the shop to a PostgreSQL database; return what each table adds up to on both sides.

    Parameters
    ----------
    address : str
        As in COMBWRIGHT_DATABASE.
    told : callable
        Told of progress.

    Raises
    ------
    CombwrightError
        If it cannot be done; the shop is where it was then.
    """
    if connection.vendor != "sqlite":
        raise CannotMove(
            "This shop is on PostgreSQL already. To have it on another one, make a backup here "
            "and bring it back there."
        )
    if not is_current(connection):
        raise CannotMove(
            "The shop's database is not up to date; open the shop once with 'combwright serve'."
        )
    try:
        with beside(postgresql(address)) as alias:
            told("setting the new database up", 0.0)
            _set_up(alias)
            return _moved(alias, address, told)
    except Unsound as error:
        raise CannotMove(f"The shop cannot be moved: {error}; it is where it was.") from error
    except Error as error:
        raise CannotMove(
            f"The shop cannot be moved to {shown(address)} ({_first_line(error)}); it is where it "
            "was."
        ) from error


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0].rstrip(".")


def _set_up(alias: str) -> None:
    target = connections[alias]
    target.ensure_connection()
    migrate_fully(target)
    _check_empty(alias)


def _check_empty(alias: str) -> None:
    # Nothing is ever made in a shop but by a person; what migrations put there is replaced.
    people = Person.objects.using(alias).count()
    if people:
        raise CannotMove(
            f"The database there holds a shop already, with {people} people; name one that is "
            "empty. Nothing was changed."
        )


def _moved(alias: str, address: str, told: Told) -> Mapping[str, Sum]:
    here = DatabaseSource(DEFAULT_DB_ALIAS, kept_models())
    # SQLite's own transaction ends last but one: until then nobody can write here, and if the
    # power goes off before, this database is the shop as it was.
    with transaction.atomic():
        with transaction.atomic(using=alias):
            _check_empty(alias)
            told("copying", 0.1)
            fill(here, alias)
            there = DatabaseSource(alias, kept_models())
            told("proving both equal", 0.6)
            proved = _same(sums(here), sums(there))
            prove(there)
            _refuse_rows()
        told("closing the old database", 0.95)
    _mark(moved_marker(Path(settings.DATA_FOLDER)), address)
    return proved


def _same(ours: Mapping[str, Sum], theirs: Mapping[str, Sum]) -> Mapping[str, Sum]:
    for label, total in ours.items():
        if theirs.get(label) != total:
            raise CannotMove(
                f"The table {label} came out different in PostgreSQL; nothing was changed."
            )
    return ours


def _refuse_rows() -> None:
    with connection.cursor() as cursor:
        for model in emptied_models():
            table = model._meta.db_table
            for act in ("INSERT", "UPDATE", "DELETE"):
                cursor.execute(
                    f'CREATE TRIGGER "{_TRIGGER}{table}_{act.lower()}" BEFORE {act} ON "{table}" '
                    f"BEGIN SELECT RAISE(ABORT, '{_REFUSAL}'); END"
                )


def take_rows_again(*, using: str = DEFAULT_DB_ALIAS, **_signal: Any) -> None:
    """Let an old database be written to again, once its marker was deleted on purpose."""
    marker = moved_marker(Path(settings.DATA_FOLDER))
    if using != DEFAULT_DB_ALIAS or connection.vendor != "sqlite" or marker.exists():
        return
    with connection.cursor() as cursor:
        find = "SELECT name FROM sqlite_master WHERE type = 'trigger' AND name LIKE %s"
        cursor.execute(find, [f"{_TRIGGER}%"])
        for (name,) in cursor.fetchall():
            cursor.execute(f'DROP TRIGGER "{name}"')


def _mark(marker: Path, address: str) -> None:
    hidden = marker.with_name(f".{marker.name}")
    with hidden.open("w", encoding="utf-8") as file:
        file.write(f"to {shown(address)}, {timezone.now():%Y-%m-%d %H:%M} UTC\n")
        file.flush()
        os.fsync(file.fileno())
    hidden.replace(marker)


def shown(address: str) -> str:
    """Return a database's address without its password."""
    parts = urlsplit(address)
    port = None
    with contextlib.suppress(ValueError):
        port = parts.port
    host = (parts.hostname or "") + (f":{port}" if port else "")
    return f"{parts.scheme}://{host}{parts.path}"
