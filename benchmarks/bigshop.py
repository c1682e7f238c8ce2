"""A made-up shop of the size that its pages must bear: bins, plates, and a long ledger.

Written straight into the shop's tables, as a million actions would take an hour; what it writes is
what the actions would have written: a bin's count is the sum of its lines, and each line knows what
the bin held then. Nothing in it was measured or belongs to anybody.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import islice
from random import Random
from typing import Any, Final

BINS: Final = 5_000
PLATES: Final = 100_000
LINES: Final = 1_000_000
BATCHES: Final = 250
#: One bin is taken from again and again: its ledger has so many lines, at least.
BUSY_LINES: Final = 20_000
#: The name of the bin with the long ledger, and of those who did everything; no password opens.
BUSY_BIN: Final = "A-001-01"
PEOPLE: Final = ("bench-1", "bench-2", "bench-3", "bench-4")
_BEGAN: Final = datetime(2021, 3, 1, 7, 0, tzinfo=UTC)
_AT_ONCE: Final = 20_000
_SET: Final = 20
#: Every hundredth entry is taken back at once.
_TAKEN_BACK: Final = 0.01
_WHYS: Final = ("counted", "moved", "scrapped", "returned")


@dataclass(slots=True)
class History:
    """What happened, as rows of the tables; `counts` is what the bins hold in the end."""

    counts: list[int]
    entries: list[tuple[str, int | None]] = field(default_factory=list)
    lines: list[tuple[int, int, int, int]] = field(default_factory=list)

    def post(self, why: str, changes: Mapping[int, int], *, corrects: int | None = None) -> None:
        """Write an entry; bins are known by their place, from 0."""
        self.entries.append((why, corrects))
        key = len(self.entries)
        for place, change in sorted(changes.items()):
            self.counts[place] += change
            self.lines.append((key, place, change, self.counts[place]))


def history(bins: int, plates: int, lines: int, *, seed: int = 1) -> History:
    """Make up a ledger of exactly so many lines, after which the bins hold so many plates."""
    dice, told = Random(seed), History([0] * bins)
    told.post("imported", dict.fromkeys(range(bins), plates // bins))
    total, busy_left = bins * (plates // bins), min(BUSY_LINES, lines // 10)
    while len(told.lines) < lines - 2 * _SET:
        if busy_left:
            busy_left -= 1
            changes = {0: -1 if told.counts[0] > 2 else 5}
            why = "scrapped" if changes[0] < 0 else "received"
        else:
            why, changes = _step(dice, told.counts, total, plates)
        told.post(why, changes)
        if dice.random() < _TAKEN_BACK:
            changes = {place: -change for place, change in changes.items()}
            told.post("corrected", changes, corrects=len(told.entries))
        else:
            total += sum(changes.values())
    _finish(told, plates - total, lines)
    return told


def _step(
    dice: Random, counts: Sequence[int], total: int, wanted: int
) -> tuple[str, dict[int, int]]:
    """Receive a set while plates are few; else one of the small things of a day."""
    if total < wanted and dice.random() < 0.2:
        first = dice.randrange(len(counts) - _SET)
        return "sliced", {place: dice.randint(0, 2) for place in range(first, first + _SET)}
    here, there = dice.sample(range(1, len(counts)), 2)
    why = dice.choice(_WHYS)
    some = min(counts[here], dice.randint(1, 3))
    if why == "counted" or not some:
        return "counted", {here: 0}
    if why == "moved":
        return why, {here: -some, there: some}
    return ("returned", {here: 1}) if why == "returned" else ("scrapped", {here: -some})


def _finish(told: History, missing: int, lines: int) -> None:
    """Write the last lines one by one, so that the number of plates comes out."""
    while (left := lines - len(told.lines)) > 0:
        change = missing if left == 1 else missing // left
        fullest = max(range(1, len(told.counts)), key=told.counts.__getitem__)
        change = max(change, -told.counts[fullest])
        told.post("corrected", {fullest: change})
        missing -= change


def fill(bins: int = BINS, plates: int = PLATES, lines: int = LINES, *, seed: int = 1) -> None:
    """Write the shop into an empty database whose tables are there; as a whole or not at all."""
    from django.db import connection, transaction

    from combwright.shop.people.models import Person
    from combwright.shop.rack import models

    told = history(bins, plates, lines, seed=seed)
    with transaction.atomic():
        people = [Person.objects.join(name, name, "owner", None).pk for name in PEOPLE]
        write(models.Batch, _batches())
        write(models.Bin, _bins(told.counts))
        write(models.Entry, _entries(told, people))
        write(models.Line, _lines(told))
        restart_keys(models.Batch, models.Bin, models.Entry, models.Line)
    if connection.vendor == "postgresql":  # which does so by itself, sooner or later
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")


def _batches() -> Iterator[dict[str, Any]]:
    for n in range(BATCHES):
        held = n % 25 == 7
        because = "reeds rattle" if held else ""
        yield {"id": n + 1, "code": f"L-{n + 1:03}", "held": held, "held_because": because}


def _bins(counts: Sequence[int]) -> Iterator[dict[str, Any]]:
    """Give bins whose notes and slots run from long and low to short and high."""
    for place, count in enumerate(counts):
        rack, drawer, seat = "ABCDE"[place // 1_000 % 5], place // _SET % 50, place % _SET
        code = f"{rack}-{drawer + 1:03}-{seat + 1:02}"
        if place >= 5_000:
            code = f"{code}-{place // 5_000}"
        yield {
            "id": place + 1,
            "code": code,
            "walk": code,
            "midi": 55 + 2 * seat + drawer % 5,
            "millicents": 250 * (place % 9 - 4),
            "slot_um": 17_000 - 350 * seat - 50 * (place % 3),
            "mount": "rear" if place % 2 else "front",
            "batch_id": place // _SET % BATCHES + 1,
            "cut": f"{seat // 2 + 1} {'draw' if place % 2 else 'blow'}",
            "cost": Decimal("2.20"),
            "count": count,
        }


def _entries(told: History, people: Sequence[int]) -> Iterator[dict[str, Any]]:
    for key, (why, corrects) in enumerate(told.entries, start=1):
        yield {
            "id": key,
            "made_at": _BEGAN + timedelta(minutes=4 * key),
            "made_by_id": people[key % len(people)],
            "why": why,
            "corrects_id": corrects,
        }


def _lines(told: History) -> Iterator[dict[str, Any]]:
    for key, (entry, place, change, after) in enumerate(told.lines, start=1):
        yield {"id": key, "entry_id": entry, "bin_id": place + 1, "change": change, "after": after}


def write(model: Any, rows: Iterable[Mapping[str, Any]]) -> None:
    """Write rows, known by their columns; a column that is not named gets its field's default."""
    from django.db import connection

    fields = model._meta.concrete_fields
    defaults = {each.attname: each.get_default() for each in fields}
    names = ", ".join(connection.ops.quote_name(each.column) for each in fields)
    table = connection.ops.quote_name(model._meta.db_table)

    def values(row: Mapping[str, Any]) -> list[Any]:
        full = defaults | row
        return [
            given if type(given := full[each.attname]) is int else each.get_db_prep_save(
                given, connection
            )
            for each in fields
        ]  # fmt: skip

    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(values(row))
            return
        marks = ", ".join(["%s"] * len(fields))
        for some in _in_parts(map(values, rows)):
            cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({marks})", some)


def _in_parts(rows: Iterator[list[Any]]) -> Iterator[list[list[Any]]]:
    while some := list(islice(rows, _AT_ONCE)):
        yield some


def restart_keys(*models: Any) -> None:
    """Let the next rows get keys of their own, as keys were given here."""
    from django.core.management.color import no_style
    from django.db import connection

    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)
