"""The rows of a CSV file as lists of texts."""

import csv
import io
from collections.abc import Collection
from typing import Final

from combwright.files.opening import text_of
from combwright.files.results import BadFile, Problems

MOST_ROWS: Final = 1_000_000
_SEPARATORS: Final = (",", ";")


def csv_rows(
    data: bytes, *, name: str, known: Collection[str], problems: Problems
) -> tuple[list[list[str]], str]:
    """Return the rows of a CSV file, header first, and its separator.

    A blank line gives an empty row, so that a row's place in the list tells its number.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        For messages.
    known : collection of str
        Column names in lower case; they tell the separator.
    problems : Problems
        Where a quotation mark that is out of place ends the rows, that is noted.

    Raises
    ------
    BadFile
        If it is not UTF-8, has too many rows, or is parted by tabs.
    """
    lines = max(data.count(b"\n"), data.count(b"\r"))
    if lines > MOST_ROWS + 1:
        raise BadFile(
            f"{name} has about {lines:,} rows and was not read; {MOST_ROWS:,} are the most."
        )
    text = text_of(data, name=name)
    separator = _separator(text, name, known)
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True
    )
    rows: list[list[str]] = []
    try:
        rows.extend(reader)
    except csv.Error as error:
        problems.add(_quoting(str(error)), row=len(rows) + 1)
    return rows, separator


def _separator(text: str, name: str, known: Collection[str]) -> str:
    header = text[:10_000].splitlines()[0] if text else ""
    found = {separator: _known_in(header, separator, known) for separator in (*_SEPARATORS, "\t")}
    best = max(found, key=lambda separator: (found[separator], header.count(separator)))
    if best == "\t" and "\t" in header:
        raise BadFile(f"{name} is parted by tabs; save it parted by commas or semicolons.")
    return best if best != "\t" else ","


def _known_in(header: str, separator: str, known: Collection[str]) -> int:
    cells = header.replace('"', "").split(separator)
    return sum(cell.strip().lower() in known for cell in cells)


def _quoting(reason: str) -> str:
    if "field larger" in reason:
        return "a cell is far too long; is a quotation mark missing in this row or above?"
    return (
        "a quotation mark is out of place, so this row and what follows cannot be read; "
        'close each " and write "" for one inside a cell.'
    )
