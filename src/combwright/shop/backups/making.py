"""Making a backup of the shop as it is now, while people go on working."""

from pathlib import Path

from django.db import connections
from django.utils import timezone

from combwright.shop.backups.manifest import Manifest
from combwright.shop.backups.migration_state import applied
from combwright.shop.backups.snapshots import snapshot
from combwright.shop.backups.writing import Told, quiet, write


def make(
    path: Path, *, schedule: str = "", proved: bool = True, told: Told = quiet
) -> tuple[Path, Manifest]:
    """Back the shop up into a new file, which is checked and proved before this returns.

    Parameters
    ----------
    path : Path
        The file; one that is there is never written over.
    schedule : str
        The mark of the schedule that asks for it.
    proved : bool
        Whether the ledger must add up.
    told : callable
        Told of progress.

    Raises
    ------
    CannotBackUp
        If it cannot be written there.
    BadBackup
        If the shop's own ledger does not add up: such a backup is not kept.
    """
    made_at = timezone.now()
    with snapshot() as source:
        migrations = applied(connections[source.alias])
        manifest = write(
            source,
            path,
            made_at=made_at,
            migrations=migrations,
            schedule=schedule,
            proved=proved,
            told=told,
        )
    return path, manifest
