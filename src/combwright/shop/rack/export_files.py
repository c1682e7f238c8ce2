"""Tables as files, given bit by bit: CSV, XLSX, and all of them in one ZIP.

However long a table is, only some of its rows are in memory at a time.
"""

import csv
import io
import tempfile
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from openpyxl import Workbook

from combwright.shop.rack.tables import AT_ONCE, Table

#: A sheet has 1,048,576 rows at most; what is longer goes on on another.
ROWS_OF_A_SHEET: Final = 1_000_000
_PART: Final = 2**16


def csv_parts(table: Table) -> Iterator[bytes]:
    """Give a CSV file; its mark at the start tells spreadsheets that it is UTF-8."""
    kept = io.StringIO(newline="")
    writer = csv.writer(kept)
    kept.write("\ufeff")
    writer.writerow(table.header)
    for number, row in enumerate(table.rows(), start=1):
        writer.writerow([format(cell, "f") if isinstance(cell, Decimal) else cell for cell in row])
        if number % AT_ONCE == 0:
            yield kept.getvalue().encode()
            kept.seek(0)
            kept.truncate()
    yield kept.getvalue().encode()


def xlsx_parts(table: Table) -> Iterator[bytes]:
    """Give a workbook; it is written to disk first, as its index stands at the end."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(table.name)
    sheet.append(table.header)
    for number, row in enumerate(table.rows()):
        if number and number % ROWS_OF_A_SHEET == 0:
            sheet = book.create_sheet(f"{table.name} {number // ROWS_OF_A_SHEET + 1}")
            sheet.append(table.header)
        sheet.append(row)
    with tempfile.TemporaryFile() as file:
        book.save(file)
        file.seek(0)
        while part := file.read(_PART):
            yield part


#: From a file's ending to what writes it.
WRITERS: Final[Mapping[str, Callable[[Table], Iterator[bytes]]]] = MappingProxyType(
    {"csv": csv_parts, "xlsx": xlsx_parts}
)


class _Spout(io.RawIOBase):
    """A file that only gives on what is written into it; it cannot go back."""

    def __init__(self) -> None:
        self._kept = bytearray()

    def writable(self) -> bool:
        """Say that it can be written to."""
        return True

    def write(self, data: bytes) -> int:  # type: ignore[override]
        """Keep some bytes until they are taken."""
        self._kept += data
        return len(data)

    def take(self) -> bytes:
        """Return what was written since it was last asked."""
        taken = bytes(self._kept)
        self._kept.clear()
        return taken


def zip_parts(tables: Iterable[Table], ending: str) -> Iterator[bytes]:
    """Give a ZIP with a file for each table, one after another as they are read.

    Parameters
    ----------
    ending : {"csv", "xlsx"}
        What its files are.
    """
    spout = _Spout()
    with zipfile.ZipFile(spout, "w", zipfile.ZIP_DEFLATED) as packed:
        for table in tables:
            # Nobody knows yet how long it gets, so there must be room for a length of 64 bits.
            with packed.open(f"{table.name}.{ending}", "w", force_zip64=True) as file:
                for part in WRITERS[ending](table):
                    file.write(part)
                    if out := spout.take():
                        yield out
    yield spout.take()
