"""Tables: CSV files and workbooks read into columns of texts, every problem kept with its place.

A caller names the columns it knows, reads each of them with what its cells may hold, and calls
`finish`, which raises all problems at once. So nothing is taken in when one row is bad.

A row's number is its place in the file, the header being row 1, as a spreadsheet counts; blank
rows count and are skipped.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final, TypeVar, cast

from combwright.errors import CombwrightError
from combwright.files.decimals import SIGN_OF, Mark, Unclear, decimal_mark, plain_number
from combwright.files.grids import Column, Grid, even_rows, find_columns, read_grid
from combwright.files.results import BadCell, BadFile, Problems
from combwright.files.xlsx_rows import Cell

T = TypeVar("T")
LONGEST_CELL: Final = 2_000


@dataclass(frozen=True, slots=True)
class Table:
    """The cells of a file, column by column, and the problems found in it so far.

    Parameters
    ----------
    name : str
        The file's name.
    rows : sequence of int
        The number of each row that holds anything.
    cells : mapping of str to sequence of str
        The texts of each known column that the header has, one a row, without outer blanks.
    numbers : frozenset of str
        The columns that hold numbers.
    mark : {"point", "comma"} or None
        The decimal mark; None when it is unclear, which is a problem already noted.
    problems : Problems
        What was found on reading; more is added as columns are read.
    warnings : tuple of str
        Columns that are not known, and the like.
    """

    name: str
    rows: Sequence[int]
    cells: Mapping[str, Sequence[str]]
    numbers: frozenset[str]
    mark: Mark | None
    problems: Problems
    warnings: tuple[str, ...] = ()

    def filled(self, column: str, read: Callable[[str], T]) -> list[T | None]:
        """Read a column in which every cell must be filled; a bad cell is noted and gives None."""
        return self._values(column, read, {})

    def optional(self, column: str, read: Callable[[str], T], empty: T) -> list[T | None]:
        """Read a column in which an empty or absent cell says `empty`; a bad one gives None."""
        return self._values(column, read, {"": empty})

    def maybe(self, column: str, read: Callable[[str], T]) -> list[T | None]:
        """Read a column in which an empty or absent cell gives None, as a bad one does."""
        return self._values(column, read, {"": None})

    def texts(self, column: str) -> Sequence[str]:
        """Return the texts of a column as they stand, empty where the file has no such column."""
        return self.cells.get(column) or [""] * len(self.rows)

    def finish(self) -> None:
        """Raise BadTable, with a line for each, if any problem was found."""
        self.problems.finish()

    def _values(
        self, column: str, read: Callable[[str], T], known: dict[str, T | None]
    ) -> list[T | None]:
        if column not in self.cells:
            return [known.get("")] * len(self.rows)
        if column in self.numbers and self.mark is None:
            return [None] * len(self.rows)
        # Most cells repeat, so each text is read once, a bad one too: it may name a file.
        bad: dict[str, str] = {}
        for row, text in zip(self.rows, self.cells[column], strict=True):
            if text not in known:
                try:
                    known[text] = read(self._sound(column, text))
                except CombwrightError as error:
                    known[text] = None
                    bad[text] = str(error)
            # An empty cell that has its line already, as a formula's has, is not told of twice.
            if text in bad and (text or not self.problems.has(row, column)):
                self.problems.add(bad[text], row=row, column=column)
        return [known[text] for text in self.cells[column]]

    def _sound(self, column: str, text: str) -> str:
        if not text:
            raise BadCell("this cell is empty, but must be filled.")
        if len(text) > LONGEST_CELL:
            raise BadCell(
                f"{text[:20]!r}... is too long; {LONGEST_CELL:,} characters are the most."
            )
        if column in self.numbers and self.mark:
            return plain_number(text, self.mark)
        return text


def complete(values: Sequence[T | None]) -> Sequence[T]:
    """Return a column that `finish` has found whole; only the type changes."""
    return cast("Sequence[T]", values)


def read_table(
    path: Path | str, columns: Sequence[Column], *, decimal: Mark | None = None
) -> Table:
    """Read a CSV file or a workbook; its first bytes tell which of them it is.

    Parameters
    ----------
    path : Path or str
        Of the file.
    columns : sequence of Column
        What its header may have; other columns are named in a warning and left out.
    decimal : {"point", "comma"} or None
        The decimal mark of its numbers; None to tell it from the file.

    Returns
    -------
    Table
        With the problems of single rows in it: call `finish` before its values are used.

    Raises
    ------
    BadFile
        If the file as a whole cannot be read: missing, a folder, too large (64 MiB, 1,000,000
        rows), not UTF-8, a broken or an old workbook, empty.
    """
    grid = read_grid(Path(path), {column.name for column in columns})
    if not grid.header:
        wanted = ", ".join(column.name for column in columns if column.must)
        raise BadFile(
            f"{grid.problems.name} has no header; its first row must name the columns: {wanted}."
        )
    places, unknown = find_columns(grid, columns)
    rows, even = even_rows(grid)
    by_place = list(zip(*even, strict=True)) or [()] * len(grid.header)
    numbers = frozenset(column.name for column in columns if column.number)
    mark = decimal or _mark(grid, {n: p for n, p in places.items() if n in numbers}, rows, by_place)
    cells = {
        name: _texts(by_place[place], mark if name in numbers else "point")
        for name, place in places.items()
    }
    warnings = (*grid.warnings, *unknown)
    return Table(grid.problems.name, rows, cells, numbers, mark, grid.problems, warnings)


def _mark(
    grid: Grid, places: Mapping[str, int], rows: Sequence[int], cells: Sequence[Sequence[Cell]]
) -> Mark | None:
    """Tell the decimal mark; where it is unclear, note that at the cell that shows it."""
    texts = {
        cell.strip(): name
        for name, place in places.items()
        for cell in dict.fromkeys(cells[place])
        if isinstance(cell, str)
    }
    found = decimal_mark(texts, grid.separator)
    if not isinstance(found, Unclear):
        return found
    column = texts[found.text]
    at = [str(cell).strip() for cell in cells[places[column]]].index(found.text)
    grid.problems.add(found.reason, row=rows[at], column=column)
    return None


def _texts(cells: Sequence[Cell], mark: Mark | None) -> list[str]:
    return [cell.strip() if isinstance(cell, str) else _native(cell, mark) for cell in cells]


def _native(cell: Cell, mark: Mark | None) -> str:
    """Write a workbook's own number or date as a person would in the same file."""
    if isinstance(cell, float):
        short = str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
        return short.replace(".", SIGN_OF[mark or "point"])
    return cell.isoformat(sep=" ") if isinstance(cell, datetime) else str(cell)
