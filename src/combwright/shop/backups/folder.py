"""The folder of backups: what lies there, what a new one is called, and what may be thrown away."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from django.utils import timezone

BY_HAND, SCHEDULED, BEFORE_RESTORE = "shop", "daily", "before-restore"
_NAME: Final = re.compile(
    r"(?P<kind>shop|daily|before-restore)-(?P<at>\d{4}-\d\d-\d\d-\d{6})(?:-\d+)?\.zip"
)
_MOMENT: Final = "%Y-%m-%d-%H%M%S"


@dataclass(frozen=True, slots=True)
class Lying:
    """A backup that lies in the folder.

    Parameters
    ----------
    path : Path
        The file.
    kind : str
        Why it was made: "shop" (somebody asked), "daily" or "before-restore".
    made_at : datetime
        From its name.
    size : int
        In bytes.
    """

    path: Path
    kind: str
    made_at: datetime
    size: int

    @property
    def name(self) -> str:
        """The file's name."""
        return self.path.name


def by_hand(folder: Path) -> Path:
    """Return where a backup goes that somebody asks for now."""
    return _free(folder, BY_HAND)


def scheduled(folder: Path) -> Path:
    """Return where a backup of the schedule goes now."""
    return _free(folder, SCHEDULED)


def before_restore(folder: Path) -> Path:
    """Return where the backup goes of what a restore replaces now."""
    return _free(folder, BEFORE_RESTORE)


def _free(folder: Path, kind: str) -> Path:
    stem = f"{kind}-{timezone.now().astimezone(UTC):{_MOMENT}}"
    path, number = folder / f"{stem}.zip", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}-{number}.zip"
    return path


def lying_in(folder: Path) -> list[Lying]:
    """List the backups of a folder, newest first; none where it is not there."""
    return sorted(_found(folder), key=lambda each: (each.made_at, each.name), reverse=True)


def _found(folder: Path) -> Iterator[Lying]:
    if not folder.is_dir():
        return
    for path in folder.iterdir():
        named = _NAME.fullmatch(path.name)
        if not named:
            continue
        try:
            made_at = datetime.strptime(named["at"], _MOMENT).replace(tzinfo=UTC)
            yield Lying(path, named["kind"], made_at, path.stat().st_size)
        except (OSError, ValueError):  # gone meanwhile, or of no day there is
            continue
