"""What a file would change in the rack: reading it, and holding it against the bins there are.

Counts and measures become what the file says. A column that the file does not have leaves its
measure alone; an empty cell says what formats of racks say of it (0 cents, cost 0, not held). A
bin's note and batch never change, since a bin holds one kind; an empty batch means the bin's own.
Bins that the file does not name are left alone.
"""

import hashlib
import json
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Final

from django.db.models import CharField, Model
from django.utils.translation import gettext as _

from combwright.allocation import stock
from combwright.files.decimals import Mark
from combwright.files.rack import RACK_COLUMNS, read_rack
from combwright.files.results import BadFile, Problems
from combwright.files.tables import read_table
from combwright.notes.names import note_name
from combwright.shop.designs.queries import usual_comb
from combwright.shop.rack.models import MICRONS_PER_MM, MILLICENTS_PER_CENT, Batch, Bin

#: The ledger's entry has a line for each bin, and SQLite takes about 32,000 keys in one question.
MOST_BINS: Final = 20_000
_SHORTEST_SLOT_UM: Final = 100
_MOST_COST: Final = Decimal("9999999.99")
_CENT: Final = Decimal("0.01")
#: Measures of a bin by the column that says them; pitch may say cents too, and must be there.
COLUMN_OF: Final = {
    "millicents": "cents",
    "slot_um": "slot_mm",
    "mount": "mount",
    "cost": "cost",
    "cut": "cut",
    "walk": "walk",
    "held": "held",
}
#: A measure as it is compared and kept: thousandths, texts (the cost too), yes or no.
Plain = int | str | bool


@dataclass(frozen=True, slots=True)
class Said:
    """What a row says of a bin; `batch` is empty and measures are missing where it says nothing."""

    row: int
    code: str
    midi: int
    batch: str
    count: int
    measures: Mapping[str, Plain]

    @property
    def note(self) -> str:
        """The name of the note."""
        return note_name(self.midi)


@dataclass(frozen=True, slots=True)
class Contents:
    """What a file says; more problems are noted as it is held against the rack."""

    bins: tuple[Said, ...]
    problems: Problems
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """What changes of one bin; `key` is None for a new bin, whose `measures` are empty.

    `measures` gives each changed measure's value before and after.
    """

    key: int | None
    said: Said
    before: int
    measures: Mapping[str, tuple[Plain, Plain]]

    @property
    def change(self) -> int:
        """Plates in (above 0) or out."""
        return self.said.count - self.before


@dataclass(frozen=True, slots=True)
class Comparison:
    """What would change: new bins and changed ones in the file's order, and how many stay."""

    differences: tuple[Difference, ...]
    same: int
    left_alone: int

    @property
    def fingerprint(self) -> str:
        """What tells whether another comparison would change the same things."""
        told = [
            [d.key, d.said.code, d.said.midi, d.said.batch, d.before, d.said.count,
             sorted(d.measures.items()), sorted(d.said.measures.items()) if d.key is None else 0]
            for d in self.differences
        ]  # fmt: skip
        return hashlib.sha256(json.dumps(told).encode()).hexdigest()


def read_contents(data: bytes, name: str, decimal: Mark | None = None) -> Contents:
    """Read an uploaded rack.

    Parameters
    ----------
    data : bytes
        The file.
    name : str
        As `file_name` gives it; it stands before every problem.
    decimal : {"point", "comma"} or None
        The decimal mark; None to tell it from the file.

    Raises
    ------
    BadFile
        If the file as a whole cannot be read, or names more than `MOST_BINS` bins.
    BadTable
        If anything in it is wrong, one line for each problem.
    """
    with tempfile.TemporaryDirectory(prefix="combwright-import-") as folder:
        path = Path(folder) / name
        path.write_bytes(data)
        table = read_table(path, RACK_COLUMNS, decimal=decimal)
        if len(table.rows) > MOST_BINS:
            raise BadFile(
                _("%(file)s names %(bins)d bins; import at most %(most)d at once.")
                % {"file": table.name, "bins": len(table.rows), "most": MOST_BINS}
            )
        read = read_rack(path, usual_comb(), decimal=decimal)
    has = {measure for measure, column in COLUMN_OF.items() if column in table.cells}
    pairs = list(zip(table.rows, read.value, strict=True))
    for row, each in pairs:
        _check_fit(table.problems, row, each)
    bins = tuple(_said(row, each, has) for row, each in pairs)
    return Contents(bins, table.problems, read.warnings)


def file_name(given: str) -> str:
    """Return a name for an uploaded file that fits a file system and a line, its ending kept."""
    seen = "".join(c if c.isprintable() and c not in "/\\" else "_" for c in given)
    seen = seen.encode("utf-8", "replace").decode()
    stem, dot, ending = seen.rpartition(".")
    if not stem.strip(".") or len(ending) > 5:
        return seen.strip(".")[:60] or "file"
    return f"{stem[: 59 - len(ending)]}{dot}{ending}"


def measures_of(plate_bin: Bin) -> dict[str, Plain]:
    """Return a bin's measures as they are compared."""
    return {
        "millicents": plate_bin.millicents,
        "slot_um": plate_bin.slot_um,
        "mount": plate_bin.mount,
        "cost": _cost(plate_bin.cost),
        "cut": plate_bin.cut,
        "walk": plate_bin.walk,
        "held": plate_bin.held,
    }


def set_measure(plate_bin: Bin, measure: str, value: Plain) -> None:
    """Give a bin a measure as `measures_of` returns it; the bin is not saved."""
    setattr(plate_bin, measure, Decimal(value) if measure == "cost" else value)


def compare(contents: Contents, rack: Mapping[str, Bin]) -> Comparison:
    """Hold a file against the rack, its bins by their codes, with their batches loaded.

    Raises
    ------
    BadTable
        If a bin of the rack holds another note or batch than the file says, or a new bin has no
        batch; one line for each.
    """
    differences = []
    for said in contents.bins:
        there = rack.get(said.code)
        if there is None:
            _check_new(contents.problems, said)
            differences.append(Difference(None, said, 0, {}))
            continue
        _check_same(contents.problems, said, there)
        measures = _changed(said, there)
        if measures or said.count != there.count:
            differences.append(Difference(there.pk, said, there.count, measures))
    contents.problems.finish()
    named = sum(said.code in rack for said in contents.bins)
    new = sum(each.key is None for each in differences)
    return Comparison(tuple(differences), named - (len(differences) - new), len(rack) - named)


def _changed(said: Said, there: Bin) -> dict[str, tuple[Plain, Plain]]:
    now = measures_of(there)
    changed = {m: (now[m], after) for m, after in said.measures.items() if now[m] != after}
    # Exported bins of a held batch say that they are held: that is no mark of the bin's own.
    if there.batch.held and said.measures.get("held"):
        changed.pop("held", None)
    return changed


def _said(row: int, each: stock.Bin, has: set[str]) -> Said:
    measures: dict[str, Plain] = {
        "millicents": round(each.cents * MILLICENTS_PER_CENT),
        "slot_um": round(each.slot_mm * MICRONS_PER_MM),
        "mount": each.mount,
        "cost": _cost(each.cost),
        "cut": each.cut,
        "walk": each.walk,
        "held": each.held,
    }
    kept = {m: v for m, v in measures.items() if m in has or (m == "millicents" and v)}
    return Said(row, each.code, each.midi, each.batch, each.count, kept)


def _check_fit(problems: Problems, row: int, each: stock.Bin) -> None:
    """Note what the shop cannot keep as the file says it, rather than cut or round it unseen."""
    names = (
        ("bin", each.code, _longest(Bin, "code")),
        ("batch", each.batch, _longest(Batch, "code")),
        ("cut", each.cut, _longest(Bin, "cut")),
        ("walk", each.walk, _longest(Bin, "walk")),
    )
    for column, text, most in names:
        if len(text) > most:
            problems.add(
                _("%(text)r is too long here; %(most)d characters are the most.")
                % {"text": text, "most": most},
                row=row,
                column=column,
            )
    if round(each.slot_mm * MICRONS_PER_MM) < _SHORTEST_SLOT_UM:
        problems.add(
            _("%(slot)s mm is too short for a slot; 0.1 mm is the least.")
            % {"slot": f"{each.slot_mm:g}"},
            row=row,
            column="slot_mm",
        )
    if each.cost > _MOST_COST or each.cost != each.cost.quantize(_CENT):
        problems.add(
            _("a cost of %(cost)s cannot be kept; write two decimals, at most %(most)s.")
            % {"cost": f"{each.cost:f}", "most": _MOST_COST},
            row=row,
            column="cost",
        )


def _longest(model: type[Model], name: str) -> int:
    field = model._meta.get_field(name)
    return (field.max_length or 0) if isinstance(field, CharField) else 0


def _cost(cost: Decimal) -> str:
    # A cost that has more decimals is a problem noted elsewhere, so nothing is rounded here.
    return f"{cost:.2f}"


def _check_new(problems: Problems, said: Said) -> None:
    if not said.batch:
        problems.add(
            _("bin %(bin)s is new and has no batch; name one.") % {"bin": said.code},
            row=said.row,
            column="batch",
        )


def _check_same(problems: Problems, said: Said, there: Bin) -> None:
    if said.midi != there.midi:
        problems.add(
            _("bin %(bin)s holds %(note)s, not %(said)s; a bin holds one kind: name another bin.")
            % {"bin": said.code, "note": there.note, "said": said.note},
            row=said.row,
            column="pitch",
        )
    if said.batch and said.batch != there.batch.code:
        problems.add(
            _("bin %(bin)s holds batch %(batch)s, not %(said)s; name another bin.")
            % {"bin": said.code, "batch": there.batch.code, "said": said.batch},
            row=said.row,
            column="batch",
        )
