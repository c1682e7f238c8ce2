"""What a backup says about itself: which shop, when, at what state, and what each table must be."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any, Final

from combwright.errors import CombwrightError
from combwright.shop.backups.migration_state import Migrations
from combwright.shop.backups.sources import Sum
from combwright.shop.backups.tables import Table

FORMAT: Final = 1
NAME: Final = "manifest.json"


class Unsound(CombwrightError):
    """What is wrong with some rows, as a part of a sentence."""


class BadBackup(CombwrightError):
    """A file that is no backup, or one that cannot be trusted or brought back here."""


@dataclass(frozen=True, slots=True)
class Content:
    """A table of a backup.

    Parameters
    ----------
    table : Table
        Its columns and references.
    file : str
        The file inside the backup, a row a line.
    sha256 : str
        The file's digest.
    sum : Sum
        The rows' number and digest, whatever their order.
    """

    table: Table
    file: str
    sha256: str
    sum: Sum


@dataclass(frozen=True, slots=True)
class Manifest:
    """A backup's account of itself.

    Parameters
    ----------
    version : str
        The version of Combwright that wrote it.
    made_at : datetime
        The moment it shows.
    schedule : str
        The mark of the schedule that made it; empty for one that somebody asked for.
    migrations : mapping
        The migrations that the database had had.
    contents : sequence of Content
        Its tables, those that others refer to first.
    """

    version: str
    made_at: datetime
    schedule: str
    migrations: Migrations
    contents: Sequence[Content]

    @property
    def rows(self) -> int:
        """How many rows it holds."""
        return sum(each.sum.rows for each in self.contents)

    def as_json(self) -> dict[str, Any]:
        """Return it as it is written."""
        return {
            "format": FORMAT,
            "version": self.version,
            "made_at": self.made_at.astimezone(UTC).isoformat(),
            "schedule": self.schedule,
            "migrations": {room: list(names) for room, names in self.migrations.items()},
            "contents": [_content_json(each) for each in self.contents],
        }


def _content_json(content: Content) -> dict[str, Any]:
    written = asdict(content)
    written["table"]["references"] = dict(content.table.references)
    return written


def read_manifest(document: Any) -> Manifest:
    """Read a backup's account of itself.

    Raises
    ------
    Unsound
        If a newer Combwright wrote it.
    KeyError, TypeError, ValueError
        If it is none.
    """
    if document["format"] != FORMAT:
        raise Unsound(
            f"it is of format {document['format']!r} (Combwright {document['version']}), and this "
            f"version reads format {FORMAT}; use that version or a newer one"
        )
    return Manifest(
        version=str(document["version"]),
        made_at=datetime.fromisoformat(document["made_at"]),
        schedule=str(document["schedule"]),
        migrations={room: list(names) for room, names in document["migrations"].items()},
        contents=[_content(each) for each in document["contents"]],
    )


def _content(document: Mapping[str, Any]) -> Content:
    table, total = document["table"], document["sum"]
    return Content(
        table=Table(
            str(table["label"]), str(table["key"]), tuple(table["columns"]), table["references"]
        ),
        file=str(document["file"]),
        sha256=str(document["sha256"]),
        sum=Sum(int(total["rows"]), str(total["digest"])),
    )
