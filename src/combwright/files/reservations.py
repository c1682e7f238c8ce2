"""The plates that an earlier plan set aside, read back from its JSON document."""

import json
from collections import Counter
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any, Final, NoReturn

from combwright.allocation.answer import Reservation
from combwright.comb.seats import BREATHS, DECKS, MOST_HOLES
from combwright.files.answers import SCHEMA
from combwright.files.opening import read_text
from combwright.files.results import BadCell, BadFile, Problems, Read, one_line

MOST_MIB: Final = 1024
_KINDS: Final = {str: "a text", int: "a whole number", bool: "true or false", list: "a list",
                 dict: "an object"}  # fmt: skip


def read_plan(path: Path | str) -> dict[str, Any]:
    """Read a plan's document as far as its schema and its list of orders.

    Raises
    ------
    BadFile
        If the file cannot be opened, is no JSON, or no plan of schema 1.
    """
    path = Path(path)
    shown = one_line(path.name)
    text = read_text(path, most_mib=MOST_MIB)
    try:
        document = json.loads(text, parse_constant=_refuse)
    except (ValueError, RecursionError) as error:
        reason = error if isinstance(error, ValueError) else "it is nested too deeply"
        raise BadFile(one_line(f"{shown} is no sound JSON: {reason}.")) from error
    if not isinstance(document, dict) or "orders" not in document:
        raise BadFile(f"{shown} is no plan: it has no orders; give what plan --json printed.")
    if document.get("schema") != SCHEMA or isinstance(document["schema"], bool):
        raise BadFile(
            one_line(f"{shown} has schema {document.get('schema')!r}; a plan of schema 1 is read.")
        )
    return document


def read_reservations(path: Path | str) -> Read[tuple[Reservation, ...]]:
    """Read every plate that a plan's ready orders were given, in file order.

    Raises
    ------
    BadFile
        If the file is no plan (see `read_plan`).
    BadTable
        If keys are missing or of the wrong type, one line for each order in which that is so, or
        if a copy's seat has two plates.
    """
    document = read_plan(path)
    problems = Problems(Path(path).name)
    found: list[Reservation] = []
    orders = problems.attempt(lambda: _of(document, "orders", list)) or []
    for number, order in enumerate(orders, start=1):
        found += problems.attempt(partial(_order, order, f"order {number}")) or []
    twice = [place for place, count in Counter(_place(each) for each in found).items() if count > 1]
    for order, row, copy, place in twice:
        problems.add(f"order {order!r}: {place} of row {row}, copy {copy} has two plates.")
    problems.finish()
    return Read(tuple(found))


def _place(each: Reservation) -> tuple[str, int, int, str]:
    return (each.order, each.row, each.copy, each.place)


def _order(order: Any, where: str) -> list[Reservation]:
    name = _of(order, "order", str, where)
    where = f"order {name!r}"
    if not _of(order, "ready", bool, where):
        return []
    instruments = _of(order, "instruments", list, where)
    found = [each for made in instruments for each in _instrument(made, name, where)]
    kits: Counter[tuple[int, int]] = Counter()
    for plate in _of(order, "plates", list, where):
        row, copy = _whole(plate, "row", where), _whole(plate, "copy", where)
        kits[row, copy] += 1
        found.append(_reserved(plate, name, row, copy, f"kit {kits[row, copy]}", where))
    return found


def _instrument(made: Any, name: str, where: str) -> Iterator[Reservation]:
    row, copy = _whole(made, "row", where), _whole(made, "copy", where)
    for seat in _of(made, "seats", list, where):
        hole = _whole(seat, "hole", where)
        deck, breath = _of(seat, "deck", str, where), _of(seat, "breath", str, where)
        if hole > MOST_HOLES or deck not in DECKS or breath not in BREATHS:
            raise BadCell(f"{where}: there is no seat {hole} {deck} {breath}.")
        yield _reserved(seat, name, row, copy, f"{hole} {deck} {breath}", where)


def _reserved(plate: Any, name: str, row: int, copy: int, place: str, where: str) -> Reservation:
    bin_code, batch = _of(plate, "bin", str, where), _of(plate, "batch", str, where)
    return Reservation(name, row, copy, place, bin_code, batch)


def _whole(found: Any, key: str, where: str) -> int:
    number: int = _of(found, key, int, where)
    if number < 1:
        raise BadCell(f"{where}: {key!r} is {number}; 1 is the least.")
    return number


def _of(found: Any, key: str, kind: type, where: str = "the plan") -> Any:
    """Return a key's value when it is there and of a kind."""
    if not isinstance(found, dict):
        raise BadCell(f"{where}: {str(found)[:40]!r} stands where an object with {key!r} should.")
    if key not in found:
        raise BadCell(f"{where}: {key!r} is missing; give what plan --json printed, unchanged.")
    value = found[key]
    if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
        raise BadCell(
            f"{where}: {key!r} is {str(value)[:40]!r}; {_KINDS[kind]} should stand there."
        )
    return value


def _refuse(constant: str) -> NoReturn:
    raise ValueError(f"{constant} is no number of JSON")
