"""The proof of the ledger, from rows alone: of a backup file, or of a database.

Every holder's count is the sum of its lines; each line follows from the ones before it and never
leaves less than nothing; an entry touches a holder once; every reference leads somewhere.
"""

from array import array
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from combwright.shop.backups.keys import Keys
from combwright.shop.backups.manifest import Unsound
from combwright.shop.backups.sources import Row, Source
from combwright.shop.backups.tables import Table


@dataclass(frozen=True, slots=True)
class Pair:
    """Things that are counted, and the lines that change the count.

    Parameters
    ----------
    holder, lines : str
        The labels of both tables; the holder has a `count`, the lines a `change`, what was there
        `after`, and an `entry_id`.
    column : str
        The lines' column with the holder's key.
    """

    holder: str
    lines: str
    column: str


PAIRS: Final = (
    Pair("rack.bin", "rack.line", "bin_id"),
    Pair("rack.item", "rack.itemline", "item_id"),
)
Look = Callable[[Row], None]


def prove(source: Source) -> None:
    """Read all rows and prove that they fit together.

    Raises
    ------
    Unsound
        If they do not; it names the first thing that does not fit.
    """
    labels = {table.label for table in source.tables}
    ledgers = [_Ledger(pair) for pair in PAIRS if {pair.holder, pair.lines} <= labels]
    references = _References(labels)
    for table in source.tables:
        looks = [references.looks_at(table)]
        looks += [look for each in ledgers if (look := each.looks_at(table))]
        for row in source.rows(table):
            for look in looks:
                look(row)
    references.finish()
    for each in ledgers:
        each.finish()


class _References:
    """Every key once, and every reference to a key that is there."""

    def __init__(self, labels: set[str]) -> None:
        self._keys = {label: Keys() for label in labels}
        self._ahead: list[tuple[str, str, Any, str]] = []

    def looks_at(self, table: Table) -> Look:
        """Return what to show a table's rows to."""
        key, mine, label = table.place(table.key), self._keys[table.label], table.label
        leads = [(table.place(column), column, to) for column, to in table.references.items()]

        def look(row: Row) -> None:
            if not mine.add(row[key]):
                raise Unsound(f"two rows of {label} have the key {row[key]!r}")
            for place, column, to in leads:
                if row[place] is not None and row[place] not in self._keys[to]:
                    self._ahead.append((label, column, row[place], to))

        return look

    def finish(self) -> None:
        """Look once more for what was not there yet."""
        for label, column, wanted, to in self._ahead:
            if wanted not in self._keys[to]:
                raise Unsound(f"a row of {label} names {to} {wanted!r} ({column}); there is none")


class _Ledger:
    """One pair being proved."""

    def __init__(self, pair: Pair) -> None:
        self._pair = pair
        self._counts: dict[Any, int] = {}
        self._held: dict[Any, int] = defaultdict(int)
        self._entries, self._holders = array("q"), array("q")

    def looks_at(self, table: Table) -> Look | None:
        """Return what to show a table's rows to, if it is one of the pair."""
        if table.label == self._pair.holder:
            return self._look_at_holders(table)
        if table.label == self._pair.lines:
            return self._look_at_lines(table)
        return None

    def _look_at_holders(self, table: Table) -> Look:
        key, count = table.place(table.key), table.place("count")

        def look(row: Row) -> None:
            self._counts[row[key]] = row[count]

        return look

    def _look_at_lines(self, table: Table) -> Look:
        names = (table.key, self._pair.column, "entry_id", "change", "after")
        key, holder, entry, change, after = (table.place(name) for name in names)

        def look(row: Row) -> None:
            held = self._held[row[holder]] + row[change]
            if row[after] != held or held < 0:
                raise Unsound(
                    f"line {row[key]} of {self._pair.lines} leaves {row[after]} in "
                    f"{self._pair.holder} {row[holder]}, and the lines up to it make {held}"
                )
            self._held[row[holder]] = held
            self._entries.append(row[entry])
            self._holders.append(row[holder])

        return look

    def finish(self) -> None:
        """Compare the counts with the lines, and look for an entry that touches a holder twice."""
        for holder, count in self._counts.items():
            if count != self._held.get(holder, 0):
                raise Unsound(
                    f"{self._pair.holder} {holder} holds {count}, and its lines make "
                    f"{self._held.get(holder, 0)}"
                )
        self._check_touched_once()

    def _check_touched_once(self) -> None:
        import numpy as np

        entries, holders = np.frombuffer(self._entries, "i8"), np.frombuffer(self._holders, "i8")
        order = np.lexsort((holders, entries))
        entries, holders = entries[order], holders[order]
        twice = (entries[1:] == entries[:-1]) & (holders[1:] == holders[:-1])
        if twice.any():
            place = int(twice.argmax())
            raise Unsound(
                f"entry {entries[place]} touches {self._pair.holder} {holders[place]} twice"
            )
