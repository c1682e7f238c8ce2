"""Writing a backup: under a hidden name, checked, and only then under its own.

So a file that has a backup's name is whole and proved, wherever the power went off.
"""

import hashlib
import json
import os
import tempfile
import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Final
from zipfile import ZIP_DEFLATED, ZipFile

import combwright
from combwright.errors import CombwrightError
from combwright.shop.backups import seal, values
from combwright.shop.backups.manifest import NAME, Content, Manifest
from combwright.shop.backups.migration_state import Migrations
from combwright.shop.backups.proof import prove
from combwright.shop.backups.reading import opened
from combwright.shop.backups.sources import Adder, Source
from combwright.shop.backups.tables import Table

#: Begins the name of a file that is being written; nothing takes such a one for a backup.
_UNFINISHED: Final = ".being-written-"
_STALE_SECONDS: Final = 3600
#: Told what is being done, and which share of it is done.
Told = Callable[[str, float], None]


class CannotBackUp(CombwrightError):
    """A place that a backup cannot be written to."""


def quiet(_text: str, _share: float) -> None:
    """Tell nobody."""


def write(
    source: Source,
    path: Path,
    *,
    made_at: datetime,
    migrations: Migrations,
    schedule: str = "",
    proved: bool = True,
    told: Told = quiet,
) -> Manifest:
    """Write a source's rows into a new backup file, and check it.

    Parameters
    ----------
    source : Source
        What to write: one moment of a database.
    path : Path
        The backup; a file that is there is never written over.
    made_at : datetime
        The moment that the source shows.
    migrations : mapping
        Those that the source's database has had.
    schedule : str
        The mark of the schedule that asked for it, or nothing.
    proved : bool
        Whether the ledger must add up. What a restore replaces is kept even if it does not.
    told : callable
        Told of progress.

    Raises
    ------
    CannotBackUp
        If it cannot be written there.
    BadBackup
        If what was written does not check out; then no file is left.
    """
    try:
        return _write(source, path, (made_at, migrations, schedule), told, proved=proved)
    except OSError as error:
        raise CannotBackUp(
            f"The backup {str(path)!r} cannot be written ({error.strerror or error}); "
            "make room, or name another place."
        ) from error


def _write(
    source: Source,
    path: Path,
    facts: tuple[datetime, Migrations, str],
    told: Told,
    *,
    proved: bool,
) -> Manifest:
    path.parent.mkdir(parents=True, exist_ok=True)
    _check_new(path)
    _sweep(path.parent)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=_UNFINISHED)
    os.close(handle)
    hidden = Path(name)
    try:
        manifest = _fill(hidden, source, facts, told)
        told("checking", 0.7)
        with opened(hidden, called=path) as backup:
            if proved:
                prove(backup)
            else:
                backup.read_through()
        _check_new(path)
        hidden.replace(path)
    finally:
        hidden.unlink(missing_ok=True)
    _settle(path.parent)
    return manifest


def _check_new(path: Path) -> None:
    if path.exists():
        raise CannotBackUp(
            f"There is a file {str(path)!r} already, and a backup never replaces one; "
            "name another file."
        )


def _fill(
    hidden: Path, source: Source, facts: tuple[datetime, Migrations, str], told: Told
) -> Manifest:
    contents = []
    with ZipFile(hidden, "w", ZIP_DEFLATED, compresslevel=6) as archive:
        archive.comment = seal.BLANK
        for number, table in enumerate(source.tables):
            told(table.label, 0.7 * number / len(source.tables))
            contents.append(_write_table(archive, source, table))
        made_at, migrations, schedule = facts
        manifest = Manifest(combwright.__version__, made_at, schedule, migrations, contents)
        archive.writestr(NAME, json.dumps(manifest.as_json(), indent=1))
    seal.put(hidden)
    with hidden.open("rb") as file:
        os.fsync(file.fileno())
    return manifest


def _write_table(archive: ZipFile, source: Source, table: Table) -> Content:
    name = f"tables/{table.label}.jsonl"
    adder, running = Adder(), hashlib.sha256()
    with archive.open(name, "w", force_zip64=True) as file:
        for row in source.rows(table):
            line = values.line(row)
            file.write(line)
            adder.add(line)
            running.update(line)
    return Content(table, name, running.hexdigest(), adder.sum)


def _settle(folder: Path) -> None:
    """Have the file's new name survive the power going off, where folders can be told so."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _sweep(folder: Path) -> None:
    """Remove what was being written when the power went off; what is written now is younger."""
    for path in folder.glob(_UNFINISHED + "*"):
        if time.time() - path.stat().st_mtime > _STALE_SECONDS:
            path.unlink(missing_ok=True)
