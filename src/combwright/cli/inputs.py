"""What several commands read: files named on the command line, with their notes said aside."""

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, TypeVar

import typer

from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from combwright.allocation.stock import Stock
    from combwright.allocation.workshop import Workshop
    from combwright.comb.combs import Comb
    from combwright.files.decimals import Mark
    from combwright.files.results import Read

T = TypeVar("T")

RackFile = Annotated[
    Path, typer.Argument(metavar="RACK", help="The rack: a CSV or XLSX file of bins.")
]
CombFile = Annotated[
    Path | None,
    typer.Option(
        "--comb", metavar="FILE", help="The comb's TOML file; a ten-chamber comb without."
    ),
]
WorkshopFile = Annotated[
    Path | None,
    typer.Option(
        "--workshop",
        metavar="FILE",
        help="The workshop's numbers, a TOML file; usual ones without.",
    ),
]
PartsFile = Annotated[
    Path | None,
    typer.Option(
        "--parts",
        metavar="FILE",
        help="Parts in stock, CSV or XLSX; parts are not counted without.",
    ),
]
KeepFile = Annotated[
    Path | None,
    typer.Option(
        "--keep", metavar="FILE", help="An earlier plan's JSON: its plates are set aside."
    ),
]
DecimalMark = Annotated[
    Literal["point", "comma"] | None,
    typer.Option(
        "--decimal",
        help="The decimal mark of all tables; told from each file without.",
    ),
]
AsJson = Annotated[
    bool, typer.Option("--json", help="Answer with one JSON document on standard output.")
]


class BadNumber(CombwrightError):
    """An option that wants a number and was given something else."""


def number(text: str | float) -> float:
    """Read an option's number, written with a decimal point."""
    try:
        return float(text)
    except ValueError:
        raise BadNumber(f"{text!r} is no number; write one such as 442 or 0.5.") from None


def say_aside(notes: Iterable[str]) -> None:
    """Write notes to standard error, so that standard output holds the answer alone."""
    for note in notes:
        typer.echo(f"Note: {note}", err=True)


def noted(read: "Read[T]") -> T:
    """Say a file's warnings aside and return what it holds."""
    say_aside(read.warnings)
    return read.value


def comb_from(path: Path | None) -> "Comb":
    """Return the comb of a file, or the default one."""
    from combwright.comb.default_comb import default_comb
    from combwright.files.combs import read_comb

    return default_comb() if path is None else noted(read_comb(path))


def workshop_from(path: Path | None) -> "Workshop":
    """Return the workshop of a file, or one with the usual numbers."""
    from combwright.allocation.workshop import Workshop
    from combwright.files.workshop import read_workshop

    return Workshop() if path is None else noted(read_workshop(path))


def stock_from(
    rack: Path,
    parts: Path | None,
    comb: "Comb | None" = None,
    expect: Path | None = None,
    *,
    decimal: "Mark | None" = None,
) -> "Stock":
    """Return the stock of a rack, of parts where they are counted, and of expected receipts."""
    from combwright.allocation.stock import Stock
    from combwright.files.parts import read_parts
    from combwright.files.rack import read_expected, read_rack

    bins = noted(read_rack(rack, comb, decimal=decimal))
    if expect is not None:
        bins += noted(read_expected(expect, {each.code for each in bins}, decimal=decimal))
    return Stock(bins, None if parts is None else noted(read_parts(parts, decimal=decimal)))


def say_json(document: object) -> None:
    """Write one JSON document to standard output."""
    import json

    typer.echo(json.dumps(document, indent=1))
