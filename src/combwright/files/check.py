"""One file checked: what kind it is, whether it is sound, and what is in it, in a line."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from combwright.allocation.orders import Order
from combwright.allocation.stock import Bin, Part
from combwright.comb.combs import Comb
from combwright.comb.default_comb import default_comb
from combwright.files.combs import read_comb
from combwright.files.decimals import Mark
from combwright.files.grids import read_grid
from combwright.files.kinds import FileKind
from combwright.files.layouts import read_layout
from combwright.files.orders import ORDER_COLUMNS, read_orders
from combwright.files.parts import PARTS_COLUMNS, read_parts
from combwright.files.rack import EXPECTED_COLUMNS, read_expected, read_rack
from combwright.files.reservations import read_reservations
from combwright.files.results import BadFile, Read, one_line
from combwright.files.settings import read_settings
from combwright.files.temperaments import read_temperament
from combwright.files.workshop import read_workshop

_TABLES: Final = {".csv", ".txt", ".xlsx", ".xls"}
_KNOWN: Final = {
    column.name
    for columns in (ORDER_COLUMNS, PARTS_COLUMNS, EXPECTED_COLUMNS)
    for column in columns
}
#: Columns by which a table is known, in this order.
_BY_COLUMN: Final = (
    ({"order", "layout"}, "orders"),
    ({"arrives"}, "expected"),
    ({"part"}, "parts"),
    ({"bin", "slot_mm"}, "rack"),
)
_BY_KEY: Final = (
    ({"chamber"}, "comb"),
    ({"blow", "draw"}, "layout"),
    ({"retune", "weight", "labels", "paper", "money"}, "workshop"),
    ({"cents"}, "temperament"),
)


def check_file(
    path: Path | str,
    *,
    comb: Comb | None = None,
    decimal: Mark | None = None,
    others: Sequence[FileKind] = (),
) -> Read[str]:
    """Tell what kind of file it is by its header or keys, read it, and say in a line what it holds.

    Parameters
    ----------
    path : Path or str
        Of a table, a TOML file or a plan's JSON document.
    comb : Comb, optional
        The comb of orders that name none, the default comb where it is not given.
    decimal : {"point", "comma"}, optional
        The decimal mark of a table; told from the file where it is not given.
    others : sequence of FileKind
        Kinds of TOML files to tell apart beside those of this room.

    Raises
    ------
    BadFile
        If it cannot be opened or is none of the kinds.
    CombwrightError
        Whatever the kind's own reader raises.
    """
    path = Path(path)
    kind = _kind(path, others)
    if isinstance(kind, FileKind):
        found = kind.summary(path)
    elif kind == "orders":
        found = _orders(read_orders(path, comb=comb or default_comb(), decimal=decimal))
    elif kind == "rack":
        found = _bins(read_rack(path, comb, decimal=decimal), "a rack of", "bin")
    elif kind == "expected":
        found = _bins(read_expected(path, (), decimal=decimal), "expected receipts in", "bin")
    elif kind == "parts":
        found = _parts(read_parts(path, decimal=decimal))
    else:
        found = _SETTINGS[kind](path)
    return Read(f"{one_line(path.name)}: {found.value}", found.warnings)


def _kind(path: Path, others: Sequence[FileKind]) -> str | FileKind:
    suffix = path.suffix.lower()
    shown = one_line(path.name)
    if suffix == ".json":
        return "plan"
    if suffix == ".toml":
        return _settings_kind(path, others)
    if suffix not in _TABLES and path.is_file():
        raise BadFile(f"{shown} is of no kind that is checked; CSV, XLSX, TOML and JSON are.")
    header = set(read_grid(path, _KNOWN).header)
    kind = next((kind for names, kind in _BY_COLUMN if names & header), None)
    if kind is None:
        raise BadFile(
            f"{shown} is no rack, parts or orders: its first row names none of their columns "
            "(bin, slot_mm; part; order, layout)."
        )
    return kind


def _settings_kind(path: Path, others: Sequence[FileKind]) -> str | FileKind:
    data = read_settings(path).data
    kind = next((kind for keys, kind in _BY_KEY if keys & set(data)), None)
    if kind is not None:
        return kind
    if "seat" in data:
        seats = data["seat"] if isinstance(data["seat"], list) else []
        noted = any(isinstance(seat, dict) and "pitch" in seat for seat in seats)
        return "layout" if noted else "temperament"
    other = next((each for each in others if set(each.keys) & set(data)), None)
    if other is not None:
        return other
    kinds = ["comb", "layout", "temperament", *(each.name for each in others), "workshop"]
    keys = ["chamber", "blow, draw", "cents, seat", *(", ".join(each.keys) for each in others)]
    keys.append("retune, labels, paper, money")
    raise BadFile(
        f"{one_line(path.name)} is no {', '.join(kinds[:-1])} or {kinds[-1]}: it has none of "
        f"their keys ({'; '.join(keys)})."
    )


def _orders(read: Read[tuple[Order, ...]]) -> Read[str]:
    copies = [copy for order in read.value for copy in order.copies]
    orders = _count(len({order.name for order in read.value}), "order")
    instruments = _count(sum(1 for copy in copies if copy.design.seats), "instrument")
    loose = _count(sum(len(copy.design.kit) for copy in copies), "plate")
    return Read(f"{orders}, {instruments} and {loose} of kits", read.warnings)


def _bins(read: Read[tuple[Bin, ...]], what: str, noun: str) -> Read[str]:
    plates = _count(sum(each.count for each in read.value), "plate")
    return Read(f"{what} {_count(len(read.value), noun)}, {plates}", read.warnings)


def _parts(read: Read[dict[str, Part]]) -> Read[str]:
    return Read(f"{_count(len(read.value), 'kind')} of parts", read.warnings)


def _plan(path: Path) -> Read[str]:
    kept = read_reservations(path).value
    orders = _count(len({each.order for each in kept}), "order")
    return Read(f"a plan with {_count(len(kept), 'plate')} set aside for {orders}")


def _comb(path: Path) -> Read[str]:
    read = read_comb(path)
    holes, parts = _count(read.value.holes, "chamber"), _count(len(read.value.parts), "kind")
    return Read(f"a comb of {holes}, {parts} of parts", read.warnings)


def _layout(path: Path) -> Read[str]:
    read = read_layout(path)
    holes, reeds = _count(read.value.holes, "hole"), _count(len(read.value.seats), "reed")
    return Read(f"a layout of {holes}, {reeds}", read.warnings)


def _temperament(path: Path) -> Read[str]:
    read = read_temperament(path)
    reeds = _count(len(read.value.reeds), "reed")
    return Read(f"a temperament, {reeds} with cents of their own", read.warnings)


def _workshop(path: Path) -> Read[str]:
    read = read_workshop(path)
    up, down = read.value.retune.raise_most_cents, read.value.retune.lower_most_cents
    return Read(f"a workshop that files up to {up:g} cents up and {down:g} down", read.warnings)


_SETTINGS: Final[dict[str, Callable[[Path], Read[str]]]] = {
    "plan": _plan,
    "comb": _comb,
    "layout": _layout,
    "temperament": _temperament,
    "workshop": _workshop,
}


def _count(number: int, noun: str) -> str:
    return f"{number:,} {noun}" + ("" if number == 1 else "s")
