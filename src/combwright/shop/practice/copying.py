"""Making the copy: one moment of the real shop, in an SQLite database of its own."""

import shutil
import tempfile
from pathlib import Path
from typing import Final

from django.db import connections, transaction
from django.utils import timezone

from combwright.shop.backups.migration_state import migrate_fully
from combwright.shop.backups.restoring import fill
from combwright.shop.backups.snapshots import beside, snapshot
from combwright.shop.backups.sources import DatabaseSource
from combwright.shop.backups.tables import kept_models
from combwright.shop.practice.places import folder, write_made_at
from combwright.shop.where import sqlite

#: No program is let in by a token of the real shop, and no schedule writes backups of the copy.
_ROOMS_LEFT_OUT: Final = frozenset({"api", "backups"})


def make_copy() -> None:
    """Make the practice shop anew; the caller holds it. What there was before is gone."""
    there = folder()
    for stray in there.parent.glob(f"{there.name}.*-*"):
        shutil.rmtree(stray, ignore_errors=True)
    new = Path(tempfile.mkdtemp(dir=there.parent, prefix=f"{there.name}.new-"))
    try:
        _fill(new / "shop.sqlite3")
        write_made_at(new, timezone.now())
        _take_the_place(new, there)
    finally:
        shutil.rmtree(new, ignore_errors=True)


def _fill(path: Path) -> None:
    with snapshot() as source, beside(sqlite(path)) as alias:
        migrate_fully(connections[alias])
        models = [m for m in kept_models() if m._meta.app_label not in _ROOMS_LEFT_OUT]
        with transaction.atomic(using=alias):
            fill(DatabaseSource(source.alias, models), alias)


def _take_the_place(new: Path, there: Path) -> None:
    if there.exists():
        old = Path(tempfile.mkdtemp(dir=there.parent, prefix=f"{there.name}.old-"))
        there.replace(old / there.name)
        new.replace(there)
        shutil.rmtree(old, ignore_errors=True)
    else:
        new.replace(there)
