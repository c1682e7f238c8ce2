"""The rows of a workbook's first sheet, read within bounds.

Any other sheet, and whatever a workbook holds beside cells, is left alone.
"""

import io
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final

import openpyxl

from combwright.files.csv_rows import MOST_ROWS
from combwright.files.results import BadFile, Problems, one_line
from combwright.files.xlsx_bounds import check_archive

#: A text, or a number or date that the workbook itself holds as one.
Cell = str | int | float | date | datetime
MOST_COLUMNS: Final = 256
_LAST_ROW: Final = 1_048_576


@dataclass(frozen=True, slots=True)
class Sheet:
    """The rows of the first sheet, header first; and what stands in other sheets, in a line."""

    rows: list[list[Cell]]
    warnings: tuple[str, ...]


def xlsx_rows(data: bytes, *, name: str, problems: Problems) -> Sheet:
    """Return the rows of the first sheet; an empty row gives an empty list.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        For messages.
    problems : Problems
        Where formulas and error values are noted.

    Raises
    ------
    BadFile
        If it is no sound workbook, is protected, or unpacks to more than the bound.
    """
    check_archive(data, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # about styles and extensions, which we do not read
            return _first_sheet(data, name, problems)
    except BadFile:
        raise
    except Exception as error:
        # openpyxl lets many kinds of error through on damaged files; all of them are the file's.
        raise BadFile(
            f"{name} is no workbook that can be read ({type(error).__name__}); "
            "save it again as XLSX, or as CSV UTF-8."
        ) from error


def _first_sheet(data: bytes, name: str, problems: Problems) -> Sheet:
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, keep_links=False)
    sheets = book.worksheets
    if not sheets:
        raise BadFile(f"{name} has no sheet with cells.")
    rows: list[list[Cell]] = []
    for row, cells in _numbered_rows(sheets[0], name):
        if row > MOST_ROWS + 1:
            raise BadFile(f"{name} has more than {MOST_ROWS:,} rows; that is the most.")
        rows.extend([] for _ in range(row - 1 - len(rows)))
        rows.append([_cell(cell, row, place, rows, problems) for place, cell in enumerate(cells)])
    noted = (
        (f"{name}: only the first of {len(sheets)} sheets is read, {sheets[0].title!r}.",)
        if len(sheets) > 1
        else ()
    )
    return Sheet(rows, noted)


def _numbered_rows(sheet: Any, name: str) -> Iterator[tuple[int, list[Any]]]:
    """Yield the rows that hold anything, without trusting the size that the sheet states."""
    sheet.reset_dimensions()
    blank = None
    for row, cells in enumerate(sheet.iter_rows(min_row=1, max_col=MOST_COLUMNS + 1), start=1):
        if row > _LAST_ROW:
            raise BadFile(f"{name} has a row beyond {_LAST_ROW:,}, the last that a sheet can have.")
        if cells is blank:  # openpyxl fills a gap of any length with one and the same row
            continue
        filled = len(cells)
        while filled and cells[filled - 1].value is None:
            filled -= 1
        if filled:
            yield row, list(cells[:filled])
        else:
            blank = cells


def _cell(cell: Any, row: int, place: int, rows: list[list[Cell]], problems: Problems) -> Cell:
    value = cell.value
    if value is None:
        return ""
    kind = cell.data_type
    if kind in {"f", "e"}:
        header = one_line(str(rows[0][place])).lower() if rows and place < len(rows[0]) else ""
        column = header or f"number {place + 1}"
        what = f"the error {value}" if kind == "e" else "a formula"
        problems.add(f"{what} stands here; paste values instead.", row=row, column=column)
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date() if not (value.hour or value.minute or value.second) else value
    return value if isinstance(value, int | float | date) else str(value)
