"""Racks: the bins of rack.csv, and of the receipts that are expected."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Final

from combwright.allocation.stock import Bin
from combwright.comb.combs import Comb
from combwright.comb.seats import Mount
from combwright.files.cells import choice, day, length, money, name, number, whole, yes_no
from combwright.files.decimals import Mark
from combwright.files.grids import Column
from combwright.files.results import MOST_SHOWN, BadCell, Read
from combwright.files.tables import Table, complete, read_table
from combwright.notes.names import Note, parse_note

LONGEST_SLOT_MM: Final = 60.0
MOST_CENTS: Final = 600
MOST_PLATES: Final = 1_000_000
_MOUNTS: Final[tuple[Mount, Mount]] = ("front", "rear")
RACK_COLUMNS: Final = (
    Column("bin"),
    Column("pitch"),
    Column("cents", must=False, number=True),
    Column("slot_mm", number=True),
    Column("mount"),
    Column("batch", must=False),
    Column("count", number=True),
    Column("cost", must=False, number=True),
    Column("cut", must=False),
    Column("walk", must=False),
    Column("held", must=False),
)
EXPECTED_COLUMNS: Final = (Column("bin", must=False), *RACK_COLUMNS[1:], Column("arrives"))


def read_rack(
    path: Path | str, comb: Comb | None = None, *, decimal: Mark | None = None
) -> Read[tuple[Bin, ...]]:
    """Read a rack: `bin,pitch,cents,slot_mm,mount,batch,count,cost` and `cut,walk,held`.

    The header must name bin, pitch, slot_mm, mount and count. A rack without rows is an empty one.

    Parameters
    ----------
    path : Path or str
        Of a CSV file or a workbook.
    comb : Comb, optional
        Slots longer than any of its chambers are then named in warnings, with their rows. They
        are no error: a rack may hold plates for several combs.
    decimal : {"point", "comma"}, optional
        The decimal mark; told from the file where it is not given.

    Raises
    ------
    BadFile
        If the file as a whole cannot be read.
    BadTable
        If anything in it is wrong: a bin twice, a negative count, a note or a number that is none;
        one line for each.
    """
    table = read_table(path, RACK_COLUMNS, decimal=decimal)
    codes = table.filled("bin", name)
    _check_codes(table, codes, ())
    bins = _bins(table, codes, [None] * len(table.rows))
    beyond = _slots_beyond(zip(bins, table.rows, strict=True), comb, table.name) if comb else ()
    return Read(bins, (*table.warnings, *beyond))


def read_expected(
    path: Path | str, rack_codes: Collection[str], *, decimal: Mark | None = None
) -> Read[tuple[Bin, ...]]:
    """Read expected receipts: the columns of a rack, and `arrives`, the day they come.

    Parameters
    ----------
    path : Path or str
        Of a CSV file or a workbook.
    rack_codes : collection of str
        The bins of the rack, none of which may be named here. An empty `bin` is called
        `expected-1` and so on.
    decimal : {"point", "comma"}, optional
        The decimal mark; told from the file where it is not given.

    Raises
    ------
    BadFile, BadTable
        As `read_rack`.
    """
    table = read_table(path, EXPECTED_COLUMNS, decimal=decimal)
    codes = table.maybe("bin", name)
    _check_codes(table, codes, rack_codes)
    arrivals = table.filled("arrives", day)
    taken = {*rack_codes, *(code for code in codes if code)}
    free = (f"expected-{n}" for n in range(1, len(codes) + len(taken) + 1))
    fresh = (code for code in free if code not in taken)
    return Read(_bins(table, [code or next(fresh) for code in codes], arrivals), table.warnings)


def slots_beyond(bins: Sequence[Bin], comb: Comb) -> tuple[str, ...]:
    """Name the bins whose slot is longer than any chamber of a comb takes, one line for each.

    After fifty lines a last one says how many more there are.
    """
    return _slots_beyond(((each, 0) for each in bins), comb, "")


def _slots_beyond(bins: Iterable[tuple[Bin, int]], comb: Comb, file: str) -> tuple[str, ...]:
    takes_mm, hole = max((comb.takes_mm(hole), -hole) for hole in range(1, comb.holes + 1))
    lines: list[str] = []
    found = 0
    for each, row in bins:
        if each.slot_mm <= takes_mm:
            continue
        found += 1
        if found <= MOST_SHOWN:
            where = f"{file}, row {row}: bin" if file else "Bin"
            lines.append(
                f"{where} {each.code}: the slot of {each.slot_mm:g} mm is longer than any chamber "
                f"of {comb.title!r} takes; the longest, hole {-hole}, takes {takes_mm:g} mm."
            )
    if found > len(lines):
        lines.append(f"{file or 'Rack'}: and {found - len(lines):,} more bins with longer slots.")
    return tuple(lines)


@dataclass(frozen=True, slots=True)
class _Pitch:
    midi: int
    cents: float


def _bins(
    table: Table, codes: Sequence[str | None], arrivals: Sequence[date | None]
) -> tuple[Bin, ...]:
    """Read the other columns, raise every problem of the table, and build its bins."""
    pitches = _pitches(table)
    slots = table.filled("slot_mm", length(LONGEST_SLOT_MM, example="14.2"))
    mounts = table.filled("mount", choice(_MOUNTS))
    batches = table.optional("batch", name, "")
    counts = table.filled("count", whole(0, MOST_PLATES))
    costs = table.optional("cost", money, Decimal(0))
    walks, cuts = table.optional("walk", name, ""), table.optional("cut", name, "")
    held = table.optional("held", yes_no, False)
    table.finish()
    columns = (complete(codes), complete(pitches), complete(slots), complete(mounts),
               complete(batches), complete(counts), complete(costs), complete(walks),
               complete(cuts), complete(held))  # fmt: skip
    return tuple(
        Bin(
            code, pitch.midi, pitch.cents, slot, mount, batch, count, cost, walk, cut, hold, arrives
        )
        for code, pitch, slot, mount, batch, count, cost, walk, cut, hold, arrives in zip(
            *columns, arrivals, strict=True
        )
    )


def _pitches(table: Table) -> list[_Pitch | None]:
    """Join the nominal note with the cents of its suffix or of the cents column, not of both."""
    notes = table.filled("pitch", _note)
    cents = table.optional("cents", number(-MOST_CENTS, MOST_CENTS, unit=" cents"), 0.0)
    written = table.texts("cents")
    known: dict[tuple[Note, float], _Pitch] = {}
    pitches: list[_Pitch | None] = []
    for row, nominal, offset, text in zip(table.rows, notes, cents, written, strict=True):
        if nominal is None or offset is None:
            pitches.append(None)
            continue
        if nominal.cents and text:
            table.problems.add(
                f"{text!r} stands beside a pitch that has its own cents ({nominal.cents:+g}); "
                "leave one of them out.",
                row=row,
                column="cents",
            )
        key = (nominal, offset)
        pitches.append(known.setdefault(key, _Pitch(nominal.midi, nominal.cents + offset)))
    return pitches


def _note(text: str) -> Note:
    note = parse_note(text)
    if abs(note.cents) > MOST_CENTS:
        raise BadCell(
            f"{note.cents:+g} cents are out of range; {-MOST_CENTS} to {MOST_CENTS} is right."
        )
    return note


def _check_codes(table: Table, codes: Sequence[str | None], taken: Collection[str]) -> None:
    first: dict[str, int] = {}
    in_rack = frozenset(taken)
    for row, code in zip(table.rows, codes, strict=True):
        if code is None:
            continue
        if code in in_rack:
            table.problems.add(
                f"{code!r} is a bin of the rack already; leave the bin empty or name a new one.",
                row=row,
                column="bin",
            )
        if first.setdefault(code, row) != row:
            table.problems.add(
                f"bin {code!r} stands in row {first[code]} already; give each bin one row.",
                row=row,
                column="bin",
            )
