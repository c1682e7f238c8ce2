"""What reading a file gives: a value with its warnings, or every problem of the file at once."""

from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Generic, TypeVar

from combwright.errors import CombwrightError

T = TypeVar("T")
MOST_SHOWN: Final = 50
_LONGEST_LINE: Final = 400


@dataclass(frozen=True, slots=True)
class Read(Generic[T]):
    """What a file says, and what is odd about it without being wrong."""

    value: T
    warnings: tuple[str, ...] = ()


class BadFile(CombwrightError):
    """A file that cannot be read at all, or says something that cannot be."""


class BadTable(BadFile):
    """A table or a settings file with problems: its text has one line for each of them."""


class BadCell(CombwrightError):
    """What is wrong with one value of a file; where it stands is added by who reads the file."""


def one_line(text: str) -> str:
    """Return a text on one line of bearable length, its control characters made visible."""
    flat = " ".join(text.split())
    flat = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in flat)
    return flat if len(flat) <= _LONGEST_LINE else flat[: _LONGEST_LINE - 3] + "..."


class Problems:
    """The problems of one file as they are found: each with a row and a column, or neither.

    Parameters
    ----------
    name : str
        The file's name, which begins every line.
    """

    def __init__(self, name: str) -> None:
        self.name = one_line(name)
        self._found: dict[str, list[tuple[int, int, int, str]]] = defaultdict(list)
        self._count: Counter[str] = Counter()
        self._rank: dict[str, int] = {}
        self._places: set[tuple[int, str]] = set()

    def __bool__(self) -> bool:
        return bool(self._count)

    def add(self, text: str, *, row: int = 0, column: str = "") -> None:
        """Note a problem; row 0 says that it concerns the whole file.

        Every problem is counted, but no more are kept of a column than can be shown: a file of a
        million wrong cells must not fill the memory.
        """
        self._count[column] += 1
        kept = self._found[column]
        if len(kept) < 4 * MOST_SHOWN:
            rank = self._rank.setdefault(column, len(self._rank))
            kept.append((row, rank, len(kept), self._line(text, row, column)))
            self._places.add((row, column))

    def has(self, row: int, column: str) -> bool:
        """Tell whether a problem of this very place is kept."""
        return (row, column) in self._places

    def attempt(self, read: Callable[[], T]) -> T | None:
        """Return what `read` gives; where it meets one of our errors, note it and return None."""
        try:
            return read()
        except CombwrightError as error:
            self.add(str(error))
            return None

    def finish(self) -> None:
        """Go on when there are none.

        Raises
        ------
        BadTable
            If there are problems: one line each, by row, at most fifty and how many more.
        """
        if not self._count:
            return
        in_order = sorted(found for kept in self._found.values() for found in kept)
        lines = [text for *_place, text in in_order[:MOST_SHOWN]]
        more = self._count.total() - len(lines)
        if more:
            lines.append(f"{self.name}: and {more} more.")
        raise BadTable("\n".join(lines))

    def _line(self, text: str, row: int, column: str) -> str:
        where = (
            self.name + (f", row {row}" if row else "") + (f", column {column}" if column else "")
        )
        return one_line(f"{where}: {text}")
