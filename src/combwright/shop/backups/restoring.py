"""Bringing a backup back: proved first, then everything replaced at once or nothing at all."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.db import DEFAULT_DB_ALIAS, IntegrityError, connection, connections, transaction

from combwright.shop.backups.folder import before_restore
from combwright.shop.backups.loading import empty, load
from combwright.shop.backups.making import make
from combwright.shop.backups.manifest import Manifest, Unsound
from combwright.shop.backups.migration_state import known, migrate_fully, migrate_to
from combwright.shop.backups.proof import prove
from combwright.shop.backups.reading import BackupFile, opened
from combwright.shop.backups.snapshots import beside
from combwright.shop.backups.sources import DatabaseSource, Source, sums
from combwright.shop.backups.tables import emptied_models, in_order, kept_models
from combwright.shop.backups.writing import Told, quiet
from combwright.shop.people.models import Person
from combwright.shop.where import sqlite


@dataclass(frozen=True, slots=True)
class Restored:
    """What was brought back.

    Parameters
    ----------
    manifest : Manifest
        The backup's account of itself.
    earlier : Path or None
        The backup of what was there before; None if there was nothing.
    """

    manifest: Manifest
    earlier: Path | None


def restore(path: Path, folder: Path, *, told: Told = quiet) -> Restored:
    """Replace the whole shop by what a backup holds.

    Parameters
    ----------
    path : Path
        The backup.
    folder : Path
        Where what was there before is backed up.
    told : callable
        Told of progress.

    Raises
    ------
    BadBackup
        If it is no sound backup, or not of this shop's kind; nothing is changed then.
    CombwrightError
        If anything else is in the way; nothing is changed then either.
    """
    with opened(path) as backup:
        told("checking the backup", 0.0)
        prove(backup)
        with _of_this_version(backup, told) as source:
            earlier = _replace(source, folder, told)
    return Restored(backup.manifest, earlier)


@contextmanager
def _of_this_version(backup: BackupFile, told: Told) -> Iterator[Source]:
    """Give a backup's rows as this version has them; older ones are brought up to date aside."""
    theirs, ours = backup.manifest.migrations, known()
    unknown = [f"{r}.{n}" for r, names in theirs.items() for n in names if n not in ours.get(r, [])]
    if unknown:
        raise Unsound(
            f"Combwright {backup.manifest.version} wrote it, with {unknown[0]}, which this version "
            "does not know; use that version or a newer one"
        )
    if theirs == ours:
        yield backup
        return
    told("bringing it up to date", 0.2)
    with (
        tempfile.TemporaryDirectory(prefix="combwright-restore-") as folder,
        beside(sqlite(Path(folder) / "older.sqlite3")) as alias,
    ):
        state = migrate_to(connections[alias], theirs)
        with transaction.atomic(using=alias):
            models = {table.label: state.apps.get_model(table.label) for table in backup.tables}
            empty(alias, reversed(in_order(models.values())))
            load(backup, alias, models)
        migrate_fully(connections[alias])
        with transaction.atomic(using=alias):
            yield DatabaseSource(alias, kept_models())


def _replace(source: Source, folder: Path, told: Told) -> Path | None:
    earlier = None
    try:
        with transaction.atomic():
            hold_writers()
            if Person.objects.exists():
                told("backing up what is there", 0.3)
                earlier, _manifest = make(before_restore(folder), proved=False)
            told("replacing the shop", 0.5)
            fill(source)
            told("proving the ledger", 0.8)
            _prove_same(source)
    except BaseException:
        if earlier is not None:  # it is what there still is
            earlier.unlink(missing_ok=True)
        raise
    return earlier


def hold_writers() -> None:
    """Keep others from writing until the transaction ends; reading goes on.

    SQLite's transaction did so when it began.
    """
    if connection.vendor == "postgresql":
        names = ", ".join(connection.ops.quote_name(m._meta.db_table) for m in emptied_models())
        with connection.cursor() as cursor:
            cursor.execute(f"LOCK TABLE {names} IN EXCLUSIVE MODE")


def fill(source: Source, alias: str = DEFAULT_DB_ALIAS) -> None:
    """Put a source's rows in place of all there are; the caller has begun a transaction."""
    empty(alias, reversed(emptied_models()))
    load(source, alias, {model._meta.label_lower: model for model in kept_models()})
    try:
        connections[alias].check_constraints()
    except IntegrityError as error:
        raise Unsound(f"its rows do not fit together ({error})") from error


def _prove_same(source: Source) -> None:
    here = DatabaseSource(DEFAULT_DB_ALIAS, kept_models())
    prove(here)
    theirs = sums(source) if not isinstance(source, BackupFile) else source.sums()
    ours = sums(here)
    for label, total in ours.items():
        if theirs.get(label) != total:
            raise Unsound(f"the rows of {label} did not come back as they are in the backup")
