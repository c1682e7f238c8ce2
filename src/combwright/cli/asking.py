"""`combwright can` and `combwright fit`: questions to the rack."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

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
    say_json,
    stock_from,
    workshop_from,
)
from combwright.cli.shows import Changes, KeyName

if TYPE_CHECKING:
    from combwright.allocation.answer import Buildable
    from combwright.allocation.stock import Bin
    from combwright.comb.combs import Comb
    from combwright.comb.layouts import Layout
    from combwright.comb.seats import Deck


def can(
    rack: RackFile,
    key: KeyName = "C",
    layout: Annotated[
        str | None,
        typer.Option(
            "--layout",
            metavar="LAYOUT",
            help="A layout of the catalogue or a TOML file; standard without.",
        ),
    ] = None,
    change: Changes = None,
    blow: Annotated[
        str | None,
        typer.Option(
            "--blow",
            metavar="NOTES",
            help="The blow notes of a free layout, hole 1 first, as of a layout file in C: "
            "'C4 E4 G4 ...'; - is an empty seat. Goes with --draw.",
        ),
    ] = None,
    draw: Annotated[
        str | None, typer.Option("--draw", metavar="NOTES", help="Its draw notes.")
    ] = None,
    comb: CombFile = None,
    workshop: WorkshopFile = None,
    temperament: Annotated[
        str,
        typer.Option(
            "--temperament",
            metavar="NAME",
            help="equal, 5-limit, 7-limit, 19-limit or a TOML file.",
        ),
    ] = "equal",
    a4: Annotated[
        float,
        typer.Option("--a4", metavar="HZ", parser=number, help="Pitch standard, 415 to 466 Hz."),
    ] = 440.0,
    kit: Annotated[
        str,
        typer.Option(
            "--kit", metavar="SEATS", help="Spare plates that go along: '5 draw; 4 draw'."
        ),
    ] = "",
    parts: PartsFile = None,
    keep: KeepFile = None,
    decimal: DecimalMark = None,
    as_json: AsJson = False,
) -> None:
    """Say whether a wish can be built now, and if not, what is missing."""
    from combwright.allocation.ask import can_build
    from combwright.comb.changes import parse_changes, parse_kit
    from combwright.files.answers import can_answer
    from combwright.files.reservations import read_reservations
    from combwright.files.temperaments import look_up_temperament
    from combwright.files.wishes import Wish, design_of
    from combwright.notes.keys import parse_key
    from combwright.notes.pitch import check_a4

    shape = comb_from(comb)
    wish = Wish(
        key=parse_key(key),
        layout=_layout(layout, blow, draw),
        comb=shape,
        changes=parse_changes("; ".join(change or [])),
        kit=parse_kit(kit),
        temperament=noted(look_up_temperament(temperament, Path())),
        a4_hz=check_a4(a4),
    )
    stock = stock_from(rack, parts, shape, decimal=decimal)
    kept = () if keep is None else noted(read_reservations(keep))
    answer = can_build(stock, design_of(wish), workshop_from(workshop), keep=kept)
    if as_json:
        say_json(can_answer(answer))
    else:
        _say_can(answer)


def _layout(name: str | None, blow: str | None, draw: str | None) -> "Layout":
    from combwright.comb.layouts import BadLayout, from_lists
    from combwright.files.layouts import look_up_layout

    if blow is None and draw is None:
        return noted(look_up_layout(name or "standard", Path()))
    if name is not None:
        raise BadLayout(f"--layout {name} and notes of its own do not go together; give one.")
    if blow is None or draw is None:
        raise BadLayout("A free layout needs both --blow and --draw, one note or - for each hole.")
    free = from_lists("free layout", _notes(blow), _notes(draw))
    if not free.seats:
        raise BadLayout("A free layout needs a note in one seat at least; all of them are empty.")
    return free


def _notes(text: str) -> list[int | None]:
    from combwright.notes.names import parse_midi

    return [None if word in ("-", "none") else parse_midi(word) for word in text.split()]


def _say_can(answer: "Buildable") -> None:
    if not answer.can or answer.made is None:
        typer.echo("No, it cannot be built now:")
        for shortage in answer.missing:
            typer.echo(f"  {shortage.text}")
        return
    typer.echo(f"Yes, it can be built now, for {answer.cost:.2f}:")
    lines = [(f"{p.want.hole} {p.want.deck} {p.want.breath}", p) for p in answer.made.seats]
    lines += [(f"kit {spare.label}", spare.placed) for spare in answer.made.kit]
    for place, placed in lines:
        retune = "" if placed.way == "none" else f", {placed.way} {placed.retune_cents:+.1f} cents"
        typer.echo(f"  {place:<15} {placed.want.note:<4} bin {placed.bin}{retune}")


def fit(
    rack: RackFile,
    comb: Annotated[Path, typer.Argument(metavar="COMB", help="The comb's TOML file.")],
    seat: Annotated[
        str | None,
        typer.Option(
            "--seat", metavar="SEAT", help="One seat: '3 upper', or '3 blow' where usual."
        ),
    ] = None,
    decimal: DecimalMark = None,
    as_json: AsJson = False,
) -> None:
    """Say which bins fit which seats, and why the others do not."""
    from combwright.files.rack import read_rack

    shape = comb_from(comb)
    bins = noted(read_rack(rack, shape, decimal=decimal))
    if seat is None:
        seats = _counts(bins, shape)
    else:
        hole, deck = _place(seat, shape)
        entries = [_verdict(each, shape, hole, deck) for each in bins]
        seats = [{"hole": hole, "deck": deck, "bins": entries}]
    if as_json:
        say_json({"schema": 1, "seats": seats})
    elif seat is None:
        _say_counts(seats)
    else:
        _say_verdicts(seats[0])


def _place(text: str, comb: "Comb") -> "tuple[int, Deck]":
    from combwright.comb.seat_names import parse_seat_name
    from combwright.comb.seats import USUAL_DECK

    name = parse_seat_name(text)
    comb.takes_mm(name.hole)
    if name.deck is not None:
        return name.hole, name.deck
    return name.hole, USUAL_DECK[name.breath or "blow"]


def _verdict(each: "Bin", comb: "Comb", hole: int, deck: "Deck") -> dict[str, Any]:
    from combwright.comb.fit import fit as fits

    found = fits(each.slot_mm, each.mount, comb, hole, deck)
    return {
        "bin": each.code,
        "fits": found.fits,
        "why": found.why,
        "slot_mm": found.slot_mm,
        "takes_mm": found.takes_mm,
    }


def _counts(bins: "tuple[Bin, ...]", comb: "Comb") -> list[dict[str, Any]]:
    from combwright.comb.fit import fit as fits
    from combwright.comb.seats import DECKS

    seats = []
    for hole in range(1, comb.holes + 1):
        for deck in DECKS:
            fitting = [b for b in bins if fits(b.slot_mm, b.mount, comb, hole, deck).fits]
            entry: dict[str, Any] = {"hole": hole, "deck": deck, "takes_mm": comb.takes_mm(hole)}
            entry |= {"bins_fit": len(fitting), "plates_fit": sum(b.count for b in fitting)}
            entry |= {"bins": len(bins), "plates": sum(b.count for b in bins)}
            seats.append(entry)
    return seats


def _say_counts(seats: list[dict[str, Any]]) -> None:
    for each in seats:
        place = f"{each['hole']} {each['deck']}"
        typer.echo(
            f"{place:<9} takes {each['takes_mm']:g} mm: {each['plates_fit']} of "
            f"{each['plates']} plates fit, from {each['bins_fit']} of {each['bins']} bins"
        )


def _say_verdicts(seat: dict[str, Any]) -> None:
    for each in seat["bins"]:
        typer.echo(f"{each['bin']:<12} {'fits' if each['fits'] else each['why']}")
