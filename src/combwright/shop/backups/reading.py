"""Reading a backup, with nothing taken on trust: every byte is under its seal."""

import hashlib
import json
import zlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final
from zipfile import BadZipFile, ZipFile

from combwright.shop.backups import seal
from combwright.shop.backups.manifest import (
    NAME,
    BadBackup,
    Content,
    Manifest,
    Unsound,
    read_manifest,
)
from combwright.shop.backups.sources import Adder, Row, Sum
from combwright.shop.backups.tables import Table

_BROKEN: Final = (
    BadZipFile, zlib.error, KeyError, TypeError, ValueError, AttributeError, EOFError,
    NotImplementedError, RuntimeError,
)  # fmt: skip
#: A manifest is a few thousand bytes; one that is not was not written by us.
_LONGEST_MANIFEST: Final = 16 * 1024 * 1024


class BackupFile:
    """An open backup: its rows, checked against its manifest as they are read."""

    def __init__(self, archive: ZipFile, manifest: Manifest) -> None:
        self._archive = archive
        self.manifest = manifest
        self._contents = {each.table.label: each for each in manifest.contents}
        self.tables: Sequence[Table] = [each.table for each in manifest.contents]

    def read_through(self) -> None:
        """Read every row, and so see that the file is what its manifest says."""
        for table in self.tables:
            for _row in self.rows(table):
                pass

    def sums(self) -> Mapping[str, Sum]:
        """Return what each table adds up to, as the manifest says it."""
        return {label: content.sum for label, content in self._contents.items()}

    def rows(self, table: Table) -> Iterator[Row]:
        """Give a table's rows.

        Raises
        ------
        Unsound
            If they are not what the manifest says; at the latest after the last one.
        """
        content = self._contents[table.label]
        try:
            yield from self._checked(content)
        except _BROKEN as error:
            raise Unsound(f"its table {table.label} cannot be read ({error})") from error

    def _checked(self, content: Content) -> Iterator[Row]:
        adder, running, columns = Adder(), hashlib.sha256(), len(content.table.columns)
        with self._archive.open(content.file) as file:
            for line in file:
                running.update(line)
                adder.add(line)
                row = json.loads(line)
                if len(row) != columns:
                    raise ValueError(f"a row of {len(row)} values in {columns} columns")
                yield row
        if (running.hexdigest(), adder.sum) != (content.sha256, content.sum):
            raise ValueError("its rows are not those that the manifest names")


@contextmanager
def opened(path: Path, *, called: Path | None = None) -> Iterator[BackupFile]:
    """Open a backup; what is wrong with it, then or while it is read, is told in one line.

    Parameters
    ----------
    path : Path
        The file.
    called : Path
        What it is called in errors, if not that.

    Raises
    ------
    BadBackup
        If it is none, was changed since it was written, or is of a newer format.
    """
    name = str(called or path)
    try:
        with path.open("rb") as file, _archive(file) as archive:
            yield BackupFile(archive, _manifest(archive))
    except OSError as error:
        raise BadBackup(
            f"The backup {name!r} cannot be read ({error.strerror or error})."
        ) from error
    except Unsound as error:
        raise BadBackup(f"The backup {name!r} cannot be used: {error}.") from error


@contextmanager
def _archive(file: Any) -> Iterator[ZipFile]:
    if not seal.is_whole(file):
        raise Unsound(
            "it is no backup, or is not whole, or was changed since it was written; take another"
        )
    try:
        archive = ZipFile(file)
    except _BROKEN as error:
        raise Unsound(f"it is sealed but no zip file ({error})") from error
    with archive:
        yield archive


def _manifest(archive: ZipFile) -> Manifest:
    try:
        if archive.getinfo(NAME).file_size > _LONGEST_MANIFEST:
            raise ValueError("too long")
        return read_manifest(json.loads(archive.read(NAME)))
    except _BROKEN as error:
        raise Unsound(f"its {NAME} cannot be read ({error})") from error


def glance(path: Path) -> Manifest | None:
    """Return what a backup says about itself, nothing checked; None if it says nothing."""
    try:
        with ZipFile(path) as archive:
            return _manifest(archive)
    except (OSError, Unsound, *_BROKEN):
        return None
