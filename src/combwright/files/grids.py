"""Files as rows of cells, whichever of CSV and workbook they are; and what their header names."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from combwright.files.csv_rows import csv_rows
from combwright.files.opening import read_bytes
from combwright.files.results import BadFile, Problems, one_line
from combwright.files.xlsx_rows import MOST_COLUMNS, Cell, xlsx_rows

MOST_MIB: Final = 64
_ZIP: Final = b"PK"
_OLD_WORKBOOK: Final = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True, slots=True)
class Column:
    """A column that a file may have.

    Parameters
    ----------
    name : str
        As in the header, in lower case.
    must : bool
        Whether the header must have it.
    number : bool
        Whether its cells are numbers, with the file's decimal mark.
    """

    name: str
    must: bool = True
    number: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """A file as rows of cells below a header.

    Parameters
    ----------
    header : tuple of str
        Names in lower case; the last one is not empty.
    rows : list of lists of cells
        Row 2 and on; blank ones are empty lists.
    separator : {",", ";", ""}
        What parts the cells; empty for a workbook.
    problems : Problems
        What was found on reading.
    warnings : tuple of str
        What is odd.
    """

    header: tuple[str, ...]
    rows: Sequence[Sequence[Cell]]
    separator: str
    problems: Problems
    warnings: tuple[str, ...] = ()


def read_grid(path: Path, known: Collection[str]) -> Grid:
    """Read a CSV file or a workbook; its first bytes tell which of them it is.

    Parameters
    ----------
    path : Path
        Of the file.
    known : collection of str
        Column names in lower case; they help to tell the separator.

    Raises
    ------
    BadFile
        If the file as a whole cannot be read.
    """
    data = read_bytes(path, most_mib=MOST_MIB)
    name = one_line(path.name)
    problems = Problems(name)
    rows: Sequence[Sequence[Cell]]
    separator, warnings = "", tuple[str, ...]()
    if data.startswith(_OLD_WORKBOOK):
        raise BadFile(
            f"{name} is a workbook of the old kind (.xls) or one with a password; "
            "save it as XLSX without a password, or as CSV UTF-8."
        )
    if data.startswith(_ZIP):
        sheet = xlsx_rows(data, name=name, problems=problems)
        rows, warnings = sheet.rows, sheet.warnings
    elif path.suffix.lower() in {".xlsx", ".xls"} and data:
        raise BadFile(f"{name} is no XLSX workbook; save it as XLSX, or as CSV UTF-8.")
    else:
        rows, separator = csv_rows(data, name=name, known=known, problems=problems)
    header = tuple(one_line(str(cell)).lower() for cell in rows[0]) if rows else ()
    while header and not header[-1]:
        header = header[:-1]
    if len(header) > MOST_COLUMNS:
        raise BadFile(f"{name} has {len(header)} columns; {MOST_COLUMNS} are the most.")
    return Grid(header, rows[1:], separator, problems, warnings)


def find_columns(grid: Grid, columns: Sequence[Column]) -> tuple[dict[str, int], tuple[str, ...]]:
    """Return the place of each known column in the header, and a warning that names the others.

    A missing or doubled column is noted as a problem of the grid.
    """
    problems = grid.problems
    places: dict[str, int] = {}
    for place, name in enumerate(grid.header):
        if name and name in places:
            problems.add(f"the header names {name!r} twice; name each column once.", row=1)
        places.setdefault(name, place)
    known = {column.name: column for column in columns}
    missing = [column.name for column in columns if column.must and column.name not in places]
    if missing:
        plural = "columns" if len(missing) > 1 else "column"
        problems.add(
            f"the header lacks the {plural} {', '.join(missing)}; "
            f"it names {', '.join(name or '(nothing)' for name in grid.header)}.",
            row=1,
        )
    unknown = [name or "(nothing)" for name in places if name not in known]
    warnings = (
        (one_line(f"{problems.name}: not known and left out: column {', '.join(unknown)}."),)
        if unknown
        else ()
    )
    return {name: place for name, place in places.items() if name in known}, warnings


def even_rows(grid: Grid) -> tuple[list[int], list[Sequence[Cell]]]:
    """Return the rows that hold anything, each as wide as the header, and their numbers.

    A row with too many cells is noted as a problem and left out.
    """
    width = len(grid.header)
    numbers: list[int] = []
    kept: list[Sequence[Cell]] = []
    for number, row in enumerate(grid.rows, start=2):
        if _is_blank(row):
            continue
        if len(row) > width and any(str(cell).strip() for cell in row[width:]):
            grid.problems.add(_too_many(len(row), width, grid.separator), row=number)
            continue
        if len(row) != width:
            row = [*row[:width], *[""] * (width - len(row))]
        numbers.append(number)
        kept.append(row)
    return numbers, kept


def _is_blank(row: Sequence[Cell]) -> bool:
    return not any(not isinstance(cell, str) or cell.strip() for cell in row)


def _too_many(cells: int, width: int, separator: str) -> str:
    hint = {
        ",": "; put a cell with a comma in it, such as 14,2, into quotation marks, "
        "or part the cells with semicolons",
        ";": "; put a cell with a semicolon in it into quotation marks",
    }.get(separator, "")
    return f"there are {cells} cells, but the header names {width} columns{hint}."
