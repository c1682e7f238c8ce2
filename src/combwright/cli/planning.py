"""`combwright plan` and `combwright demo`: which orders ship, with which plates, and the sheets."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from combwright.cli.inputs import (
    AsJson,
    CombFile,
    DecimalMark,
    KeepFile,
    PartsFile,
    RackFile,
    WorkshopFile,
    comb_from,
    noted,
    number,
    say_aside,
    say_json,
    stock_from,
    workshop_from,
)
from combwright.cli.interrupts import swept
from combwright.cli.progress import progress_bar
from combwright.cli.serving import open_demo_shop
from combwright.errors import CombwrightError

if TYPE_CHECKING:
    from combwright.allocation.answer import Plan, Reservation
    from combwright.allocation.orders import Order
    from combwright.allocation.stock import Stock
    from combwright.allocation.workshop import Workshop
    from combwright.comb.combs import Comb

_USUAL_SECONDS = 60.0
_LEAST_SECONDS = 0.1


class TooShort(CombwrightError):
    """Too little time for any plan."""


def _seconds(text: str | float) -> float:
    seconds = number(text)
    if not seconds >= _LEAST_SECONDS:
        raise TooShort(f"{text} seconds are too few for a plan; give {_LEAST_SECONDS} or more.")
    return seconds


def plan(
    rack: RackFile,
    orders: Annotated[
        Path, typer.Argument(metavar="ORDERS", help="The open orders: a CSV or XLSX file.")
    ],
    comb: CombFile = None,
    workshop: WorkshopFile = None,
    parts: PartsFile = None,
    expect: Annotated[
        Path | None,
        typer.Option(
            "--expect",
            metavar="FILE",
            help="Plates that will come: a rack with a column 'arrives'.",
        ),
    ] = None,
    keep: KeepFile = None,
    sheets: Annotated[
        Path | None,
        typer.Option(
            "--sheets",
            metavar="DIR",
            help="Write pick list, build sheets and labels into this folder.",
        ),
    ] = None,
    seconds: Annotated[
        float,
        typer.Option(
            "--seconds",
            metavar="N",
            parser=_seconds,
            help="Give the best answer after about this long.",
        ),
    ] = _USUAL_SECONDS,
    decimal: DecimalMark = None,
    as_json: AsJson = False,
) -> None:
    """Plan which orders can be built in full now, and which plate goes into which seat."""
    from combwright.files.orders import read_orders
    from combwright.files.reservations import read_reservations

    usual = comb_from(comb)
    numbers = workshop_from(workshop)
    stock = stock_from(rack, parts, expect=expect, decimal=decimal)
    wanted = noted(read_orders(orders, comb=usual, decimal=decimal))
    _note_long_slots(stock, wanted, usual)
    kept = () if keep is None else noted(read_reservations(keep))
    answer = _planned(stock, wanted, numbers, seconds, kept)
    written = () if sheets is None else _write(answer, stock, usual, numbers, sheets)
    _say(answer, stock, wanted, numbers, written, as_json=as_json)


def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="DIR", help="Where the demo's files and sheets go.")
    ] = Path("demo-shop"),
    shop: Annotated[
        bool | None,
        typer.Option(
            "--serve/--no-serve",
            help="Open the demo's shop in a browser too, or only set it up and check it.",
        ),
    ] = None,
) -> None:
    """Set up an invented workshop with a full rack and open orders, plan it, write the sheets."""
    from combwright.demo.scenario import write_demo_shop

    write_demo_shop(folder)
    typer.echo(f"An invented workshop's files are in {folder}/. Its plan:\n")
    plan(
        rack=folder / "rack.csv",
        orders=folder / "orders.csv",
        comb=folder / "comb.toml",
        workshop=folder / "workshop.toml",
        parts=folder / "parts.csv",
        sheets=folder / "sheets",
    )
    if shop is not None:
        open_demo_shop(folder / "shop", serve_it=shop)


def _note_long_slots(stock: "Stock", orders: "tuple[Order, ...]", usual: "Comb") -> None:
    """Name the bins that fit no chamber of any comb that is built on."""
    from combwright.files.rack import slots_beyond

    designs = (copy.design for order in orders for copy in order.copies)
    combs = {id(design.comb): design.comb for design in designs if design.comb}
    roomy = max(
        (usual, *combs.values()),
        key=lambda comb: max(comb.takes_mm(hole) for hole in range(1, comb.holes + 1)),
    )
    say_aside(slots_beyond(stock.bins, roomy))


def _planned(
    stock: "Stock",
    orders: "tuple[Order, ...]",
    workshop: "Workshop",
    seconds: float,
    keep: "tuple[Reservation, ...]",
) -> "Plan":
    from combwright.allocation.planner import plan as plan_orders

    with progress_bar() as told:
        return plan_orders(stock, orders, workshop, seconds=seconds, keep=keep, progress=told)


def _write(
    answer: "Plan", stock: "Stock", comb: "Comb", workshop: "Workshop", folder: Path
) -> tuple[Path, ...]:
    from combwright.sheets.writing import write_sheets

    with progress_bar() as told, swept(folder):
        return write_sheets(answer, stock, comb, workshop, folder, progress=told)


def _say(
    answer: "Plan",
    stock: "Stock",
    orders: "tuple[Order, ...]",
    workshop: "Workshop",
    written: tuple[Path, ...],
    *,
    as_json: bool,
) -> None:
    from combwright.allocation.lacking import lacks_of
    from combwright.cli.summary import summary
    from combwright.files.answers import plan_answer

    if as_json:
        say_json(plan_answer(answer))
        return
    for line in summary(answer, lacks_of(stock, orders, answer, workshop), workshop.currency):
        typer.echo(line)
    if written:
        typer.echo(
            f"\n{len(written)} PDF files in {written[0].parent}/: pick list, build sheets, labels."
        )
